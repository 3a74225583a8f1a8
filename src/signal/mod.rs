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
//! let arm = Mode { name: "arm".into(), ranges: vec![(7, whole(1650), whole(2050))] };
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
//! `exact` evaluates one state straight from the parts; everything else works on a compiled form.

mod algebra;
mod alike;
mod answers;
mod build;
mod check;
mod conditions;
mod cone;
mod curve;
mod cut;
mod escape;
mod eval;
mod exact;
mod exactly;
mod fix;
mod flags;
mod interval;
mod limits;
mod look;
mod lower;
mod memory;
mod narrow;
mod net;
mod number;
mod output;
mod parts;
mod pool;
mod probe;
mod program;
mod query;
mod question;
mod range;
mod real;
mod region;
mod search;
mod span;
mod state;
mod values;
mod witness;

pub use answers::Answers;
pub use look::Mentions;
pub use lower::{Lowered, Unclear, lower};
pub use number::{LARGEST_PART, Number, decimal, fits, nearest, whole};
pub use parts::*;
pub use program::{BUDGET, DEEPEST, Fed, Flaw, MOST_HELD, MOST_PARTS, MOST_POSITIONS, Program};
pub use question::{Answer, Kept, Movers, Proof, Question, Range, Reach, Step, Why, Within, Witness};
pub use real::{Exact, approximate, exact};
pub use state::{ChannelReading, Handle, Movement, Path, Reading, Setting, Stand};

#[cfg(test)]
mod tests;
