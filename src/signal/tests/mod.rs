//! Tests of the signal path and the query.

mod brute;
mod naive;
mod path;
mod random;
