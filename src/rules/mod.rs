//! The rule book: a rule asks questions and states findings; it computes nothing twice.
//!
//! A rule is a data file `rules/<group>/<name>.toml`, a source file `src/rules/<group>/<name>.rs` (with `_` for `-`) and
//! a line in [`all::RULES`]. What the reading of a description finds comes as findings from [`reading`].

mod alarms;
pub mod all;
mod arming;
pub mod book;
pub mod catalogue;
mod channels;
mod failsafe;
mod handset;
pub mod house;
pub mod matrix;
mod modes;
mod module;
pub mod out;
pub mod parameters;
pub mod reading;
mod receiver;
mod spectrum;
mod throttle;
pub mod trace;
pub mod unstated;
pub mod wording;
