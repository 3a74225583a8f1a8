//! The parts of the comparison with outside tools.

pub(crate) mod dice;
pub(crate) mod models;
pub(crate) mod oracle;
pub(crate) mod past;
pub(crate) mod smt;
pub(crate) mod solver;
