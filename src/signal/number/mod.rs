//! Numbers: exact fractions, small and of any size, and intervals of floating-point numbers that enclose them.

pub(in crate::signal) mod big;
pub(in crate::signal) mod crossing;
pub(in crate::signal) mod interval;
pub(in crate::signal) mod open_interval;
pub(in crate::signal) mod rational;
pub(in crate::signal) mod rational64;
