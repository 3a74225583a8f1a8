//! The rule book: a rule asks questions and states findings; it computes nothing twice.

pub mod book;
pub mod catalogue;
