//! What is asked about a model in words: movements that are made, and conditions of which it is asked whether they can occur.
//!
//! The command line and the page ask in the same words.

mod condition;
mod movement;

pub use condition::{Asked, ask};
pub use movement::path;

use crate::setup::Signals;
use crate::signal::ControlId;

/// The words for a position that a control does not have, with those that it has.
fn no_position(signals: &Signals, control: ControlId, name: &str, unknown: &str) -> String {
    let count = signals.positions(control);
    let names: Vec<_> = (0..count).map(|position| signals.position_name(control, position)).collect();
    format!("\"{name}\" has no position \"{unknown}\"; it has {}", names.join(", "))
}
