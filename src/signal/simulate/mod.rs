//! One state, or one path of movements, evaluated exactly. It shares nothing with the search but the curves: every witness is
//! replayed here, so that the one checks the other.

mod partial_bits;
pub(in crate::signal) mod play;
mod without_search;
