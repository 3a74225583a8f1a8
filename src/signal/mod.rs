//! The signal path and the query over all reachable states. Pure: no reporting, no I/O.
//!
//! A [`Program`] is made of [`Parts`]: one model and the one aircraft it flies, as plain data. It can be *played* and *asked*:
//!
//! ```
//! use walkaround::signal::{Answer, Bounds, Channel, Condition, Control, Function, Parts, Path, Program, Question, Value};
//! use walkaround::signal::{ControlId, Setting, whole};
//!
//! let parts = Parts {
//!     controls: vec![Control::stick("throttle", Function::Throttle), Control::switch("left-front", &["up", "down"])],
//!     channels: vec![Channel::new(3, Value::Control(ControlId(0))), Channel::new(7, Value::Control(ControlId(1))).levels(2)],
//!     ..Parts::default()
//! };
//! let program = Program::new(parts)?;
//! // What is received in one state, and after one movement:
//! let path = Path::at(program.rest()).then(ControlId(1), Setting::Position(1));
//! let pulse = program.play(&path).channel(7).and_then(|c| c.received.clone());
//! assert_eq!(pulse, Some(walkaround::signal::exact(whole(2000))));
//! # Ok::<(), walkaround::signal::Flaw>(())
//! ```
//!
//! [`Program::ask`] decides a [`Question`] over every reachable state; [`Program::decide`] tells a yes or no alone, and asks what
//! programs have in common only once:
//!
//! ```
//! use walkaround::signal::{Bounds, Channel, Condition, Control, Function, Mode, ModeId, Movers, Parts, Program, Question};
//! use walkaround::signal::{ControlId, Value, whole};
//!
//! let arm = Mode { name: "arm".into(), any_of: vec![vec![(7, whole(1660), whole(2140))]], unknown: None };
//! let parts = Parts {
//!     controls: vec![Control::stick("throttle", Function::Throttle), Control::switch("left-front", &["up", "down"])],
//!     channels: vec![Channel::new(3, Value::Control(ControlId(0))), Channel::new(7, Value::Control(ControlId(1))).levels(2)],
//!     modes: vec![arm],
//!     ..Parts::default()
//! };
//! let program = Program::new(parts)?;
//! let armed = Condition::mode(ModeId(0));
//! // Is mode `arm` on in some reachable state, and does a switch lift channel 3 over 1200 us from one where it is not?
//! assert!(program.ask(&Question::is(armed.clone())).witness().is_some());
//! let low = Condition::received(3, Bounds::at_most(whole(1200)));
//! let lifts = Question::is(low.and(armed.not()))
//!     .then(Movers::SwitchesAndButtons, Condition::received(3, Bounds::above(whole(1200))));
//! assert_eq!(program.decide(&lifts), Ok(false));
//! # Ok::<(), walkaround::signal::Flaw>(())
//! ```
//!
//! # The map
//!
//! Four rooms, in the order to read them; a room knows only the rooms before it.
//!
//! | room | file | what it does |
//! |---|---|---|
//! | `number/` | `rational64` | small exact fractions, as descriptions state them, that say when they no longer fit |
//! | | `big`, `rational` | exact fractions of any size |
//! | | `interval`, `open_interval` | floating-point enclosures, rounded outwards; with ends that may be left out |
//! | | `crossing` | where a steady function meets a limit, proved |
//! | `program/` | `parts`, `build` | one model and one aircraft as plain data, and short ways to write it |
//! | | `state` | where controls stand, how they move, what is read then |
//! | | `reason`, `check` | everything that can keep parts from being evaluated; whether something does |
//! | | `curve`, `output` | curves; from a value to the pulse sent and received |
//! | | `compiled` | checked parts, with what is worked out of them once |
//! | | `dependencies` | what a channel names |
//! | | `held` | the `held` conditions, in order of their times |
//! | | `lost`, `names`, `lower` | what a line that was not understood takes with it; what names mean; the typed fleet → parts |
//! | `simulate/` | `play`, `partial_bits` | one state or one path, exactly: the independent check of every witness |
//! | | `without_search` | what the parts settle of all states by themselves |
//! | `solve/` | `question` | questions and answers |
//! | | `dag`, `hash_cons`, `cone` | conditions and values as nodes, equal ones once, each with what it depends on |
//! | | `algebra`, `thresholds`, `compile` | normal forms; limits taken apart; parts → nodes |
//! | | `cells`, `pasts`, `domains` | what each variable, and each past, may still be |
//! | | `evaluate`, `exact_bounds` | three-valued evaluation over domains; exact ends where floating point can't tell |
//! | | `propagate`, `branch`, `probe` | leave out what can't be, and take it back; cut where nothing is decided; try corners |
//! | | `contract` | what a value has to be, told to the axes it is made of |
//! | | `sums` | sums of switches between limits, without looking at every position |
//! | | `latch_states`, `trap` | the pasts that can be reached; states that nothing leads out of |
//! | | `cache_key`, `query_cache` | what was proved of one program, for all that are alike where it matters |
//! | | `program`, `lowered` | a program that is asked; the same with the names of its description |
//! | | `query`, `witness`, `range`, `jump` | the search for a state; the path to it; what a channel reaches; how far its pulse jumps |
//! | | `corners` | where a channel that is drawn against one stick bends or steps |

mod number;
mod program;
mod simulate;
mod solve;

pub use number::rational::{Exact, approximate, exact};
pub use number::rational64::{LARGEST_PART, Rational64, whole};
pub use program::compiled::Compiled;
pub use program::dependencies::Mentions;
pub use program::lower::Over;
pub use program::parts::*;
pub use program::reason::{
    DEEPEST, Fed, Flaw, HIGHEST_DEGREE, LONGEST_CHAIN, MOST_HELD, MOST_LEVELS, MOST_PARTS, MOST_POSITIONS, Part,
    Reason, Refused, Unknown, Unstated,
};
pub use program::state::{ChannelReading, Handle, Movement, Path, Reading, Setting, Stand};
pub use simulate::play::End;
pub use solve::corners::{Place, Places, Whereabouts};
pub use solve::lowered::{Lowered, lower};
pub use solve::program::{Allowance, BUDGET, MODEL_BUDGET, Program};
pub use solve::query_cache::Answers;
pub use solve::question::{Answer, Kept, Movers, Proof, Question, Range, Reach, Step, Why, Within, Witness};

#[cfg(test)]
mod tests;
