//! Questions about all reachable states.

mod algebra;
mod branch;
mod cache_key;
mod cells;
mod compile;
mod cone;
pub(in crate::signal) mod corners;
mod dag;
mod domains;
mod evaluate;
mod exact_bounds;
mod hash_cons;
mod jump;
mod latch_states;
pub(in crate::signal) mod lowered;
mod pasts;
mod probe;
pub(in crate::signal) mod program;
mod propagate;
mod query;
pub(in crate::signal) mod query_cache;
pub(in crate::signal) mod question;
mod range;
mod sums;
mod thresholds;
mod trap;
mod witness;
