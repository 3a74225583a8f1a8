//! Tests of the signal path and the query.

mod brute;
mod intervals;
mod look;
mod naive;
mod path;
mod random;
mod shared;
mod unknown;
