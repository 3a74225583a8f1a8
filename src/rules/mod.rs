//! The rule book: a rule asks questions and states findings; it computes nothing twice.
//!
//! A rule is a data file `rules/<group>/<name>.toml` and a source file `src/rules/<group>/<name>.rs` (with `_` for `-`) with
//! a function `check`. `build.rs` makes the `mod` lines of the groups and [`all::RULES`] from the data files. What the reading
//! of a description finds comes as findings from [`reading`].

// The macro `rules_of`, before the groups that call it.
include!(concat!(env!("OUT_DIR"), "/modules.rs"));

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
pub mod standing;
mod surfaces;
mod throttle;
pub mod wording;
