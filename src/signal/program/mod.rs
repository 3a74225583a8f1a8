//! One model and one aircraft as plain data, and compiled.

mod build;
pub(in crate::signal) mod check;
pub(in crate::signal) mod compiled;
pub(in crate::signal) mod curve;
pub(in crate::signal) mod dependencies;
pub(in crate::signal) mod held;
pub(in crate::signal) mod lost;
pub(in crate::signal) mod lower;
pub(in crate::signal) mod names;
pub(in crate::signal) mod output;
pub(in crate::signal) mod parts;
pub(in crate::signal) mod reason;
pub(in crate::signal) mod state;
