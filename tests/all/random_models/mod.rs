//! Random models of the linear part of the language with questions about them, and what an SMT solver says of the same:
//! what holds for every model is tried on them, the answers are compared, and the times too (`examples/beside_solver.rs`).

pub(crate) mod dice;
pub(crate) mod models;
pub(crate) mod oracle;
pub(crate) mod pairs;
pub(crate) mod past;
pub(crate) mod smt;
pub(crate) mod solver;
