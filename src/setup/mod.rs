//! One model and one aircraft with everything between them: the facts that rules are written against.
//!
//! A rule looks at one of these and asks it; what it asks for is found at most once and kept.
//!
//! | file | holds |
//! |---|---|
//! | `context` | [`Context`]: what holds for the whole inspection |
//! | `subject` | [`Subject`]: a model, its handset and one aircraft, with what is read off their statements |
//! | `of_craft` | [`Setup`]: a subject with every bay, every receiver and every kept fact |
//! | `of_model` | [`ModelSetup`]: a model with each of its aircraft |
//! | `bay` | [`Bay`]: a bay of a model with what its handset has in it |
//! | `way` | [`Way`]: a receiver with the bay that it hears; [`Link path`](LinkPath): a link that reaches the aircraft |
//! | `signals` | [`Signals`]: the signal path over one link, as it is asked |
//! | `ends` | what a function's own stick moves, seen in a few states |
//! | `stick_way` | how far a stick moves its channel: centred, full, wide enough, flat before its end |
//! | `rates` | what a model's rates make of the sticks |
//! | `opposite_rates` | a switch with which the rates of two sticks go opposite ways |
//! | `surfaces` | what surfaces answer to the sticks in every position of the controls, what they do together, and what they lack |
//! | `channel_use` | what each channel is for, and which sticks stand in it |
//! | `terms` | what values and conditions hang on |
//! | `motors` | [`Motor`]: what drives a motor, and where it idles |
//! | `curves` | curves that do not go to their ends |
//! | `cuts` | lines and switches that stop a motor |
//! | `stop` | [`Stop`], [`Hold`]: positions of switches that keep a motor still |
//! | `motor_way` | how a motor goes with the throttle stick and with yaw |
//! | `arming` | what asks to arm, and the positions that do not |
//! | `ignition` | [`Ignition`]: what switches the ignition of an engine |
//! | `at_rest` | where controls that spring back rest, and [what stands where](Stands) as the start check asks |
//! | `misstated` | [`Misstated`]: a motor that nothing stops where it is said to idle |
//! | `timers` | whether a timer runs while a motor does |
//! | `start_check` | what `before-start` demands; [`Starters`]: what starts a motor, and whether it looks there |
//! | `tests` | [`Test`](tests::Test): what an aircraft is to be tested for, and when it was |
//! | `alarms` | batteries, telemetry and what an alarm comes to |
//! | `trainer` | what hands the aircraft over |
//! | `failsafe` | [`AtLoss`]: what happens at each receiver when the link is lost; [`Plan`]: the failsafe that acts there, what is stored and what that does; [`Wait`]: how long nothing is done |
//! | `margins` | pulses near an edge, between two levels of a link, or out of reach |
//! | `pairing` | whether a bay and a receiver connect |
//! | `offers` | what a module, a link and a receiver offer, beside what a model asks of them |
//! | `radio` | regions, emissions and margins |
//! | `compared` | [`Wrong`]: what a strange model would do with an aircraft; [`Compared`]: what comparisons found, kept from run to run |
//! | `numbers` | receiver numbers, and those that nobody uses |
//! | `meeting` | models that meet on one receiver number |
//! | `strange` | which models that were not made for an aircraft may reach it, and what they would do with it |
//! | `loss` | [`Loss`](loss::Loss): what happens after the link is lost, step by step |
//! | `positions` | what each position of each control does for an aircraft |
//! | `bench` | [`Bench`](bench::Bench): movements that show every position, with what is to be read after each |
//! | `shapes` | what a channel is along a stick, to be drawn |
//! | `trace` | what is received, channel by channel, as a pilot sees it |
//! | `live` | [`Live`](live::Live): what an aircraft does at the end of some movements, as somebody sees who makes them |
//! | `lawful` | what the radio rules of the region say about what is sent there |
//! | `witness` | [`Witness`]: a state that shows something, by its names |
//!
//! Nothing here judges, speaks to a reader or reads a text.

pub mod alarms;
mod arming;
mod at_rest;
mod bay;
pub mod bench;
mod channel_use;
mod compared;
mod context;
pub mod curves;
pub mod cuts;
mod ends;
pub mod failsafe;
mod ignition;
pub mod lawful;
pub mod live;
pub mod loss;
mod margins;
mod meeting;
mod misstated;
mod motor_way;
mod motors;
mod numbers;
mod of_craft;
mod of_model;
pub mod offers;
pub mod opposite_rates;
pub mod pairing;
pub mod positions;
pub mod radio;
pub mod rates;
pub mod shapes;
pub mod signals;
mod start_check;
pub mod stick_way;
mod stop;
pub mod strange;
mod subject;
pub mod surfaces;
pub mod terms;
pub mod tests;
mod timers;
pub mod trace;
pub mod trainer;
mod way;
mod witness;

pub use arming::{Arming, Arms, OtherWay, other_ways};
pub use at_rest::{AtStart, Lever, RunsAtRest, Stands, Unmet};
pub use bay::{Bay, bays, handset_of};
pub use channel_use::{
    Crossed, Flight, Sticks, What, function, is_bare, is_cut_short, is_straight, is_vital, moves, only_percent,
    plain_stick, sticks,
};
pub use compared::{Compared, Wrong};
pub use context::Context;
pub use cuts::{ConstantLine, SwitchCut};
pub use ends::{Ends, Seen};
pub use failsafe::{AtLoss, Disagreement, Plan, Share, Wait};
pub use ignition::Ignition;
pub use margins::{Between, Collapsed, NearEdge, ValidPulses, reachable_range};
pub use meeting::{Numbered, clashes, numbered};
pub use misstated::Misstated;
pub use motor_way::{Sides, WrongSides};
pub use motors::{Motor, MotorChannel, resting, stands_still_at, still, throttle_at};
pub use numbers::{FreeNumbers, UsedNumbers, is_answered, is_matched, locked, numbers_of_craft, numbers_of_model};
pub use of_craft::Setup;
pub use of_model::ModelSetup;
pub use signals::{Signals, float};
pub use start_check::{Driver, Starters};
pub use stop::{Hold, Stop};
pub use subject::{Subject, around, number};
pub use way::{LinkPath, Way};
pub use witness::{Setting, Witness, WitnessChannel};
