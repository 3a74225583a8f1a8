//! Tests of the signal path and the query.

mod path;
