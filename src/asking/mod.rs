//! What is asked about a model in words: movements that are made, and conditions of which it is asked whether they can occur.
//!
//! The command line and the page ask in the same words.

mod condition;
mod movement;

pub use condition::{Asked, ask};
pub use movement::path;
