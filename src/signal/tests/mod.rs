//! Tests of the signal path and the query.

mod brute;
mod path;
