//! A description that can be asked: a program together with the names that its parts have there.

use crate::fleet::Decimal;
use crate::fleet::condition as written;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::signal::program::lower::{Over, lowering};
use crate::signal::program::names::Names;
use crate::signal::program::parts::{Condition, ControlId, Measure, ModeId};
use crate::signal::program::reason::{Reason, Refused};
use crate::signal::program::state::Path;
use crate::signal::solve::program::Program;

/// A program together with the names that its parts have in the description.
#[derive(Clone, Debug)]
pub struct Lowered {
    /// The program.
    pub program: Program,
    names: Names,
}

/// Puts model, handset, link and aircraft together to a program. What a line that was not understood takes with it may be
/// anything: a question that depends on it is not decided ([`crate::signal::Why::NotUnderstood`]).
///
/// # Errors
/// Why there is no program at all, with the line that causes it.
pub fn lower(
    model: &Model,
    handset: Option<&Handset>,
    over: Over<'_>,
    craft: Option<&Craft>,
) -> Result<Lowered, Refused> {
    let (compiled, names) = lowering(model, handset, over, craft)?;
    Ok(Lowered { program: Program::of(compiled), names })
}

impl Lowered {
    /// A condition of `expect` or of a query: its pulses are the ones received.
    ///
    /// # Errors
    /// What it names that is not there.
    pub fn condition(&self, condition: &written::Condition) -> Result<Condition, Reason> {
        self.names.asked(condition, Measure::Received)
    }

    /// A condition of `when` or `while`: its pulses are the ones sent.
    ///
    /// # Errors
    /// As [`Lowered::condition`].
    pub fn when(&self, condition: &written::Condition) -> Result<Condition, Reason> {
        self.names.asked(condition, Measure::Sent)
    }

    /// How long a `held` condition has to hold until it counts, in seconds, by its number.
    pub fn held_for(&self, number: u8) -> Option<Decimal> {
        self.names.held_for(number)
    }

    /// The `held` conditions that count after a wait of so many seconds at the end of a path, by their numbers.
    pub fn held_after(&self, path: &Path, seconds: Decimal) -> u64 {
        let holds = |condition: &Condition| self.program.holds(path, condition) == Some(true);
        self.names.held_after(seconds, &holds)
    }

    /// The control with a name; sticks too.
    pub fn control(&self, name: &str) -> Option<ControlId> {
        self.names.control(name)
    }

    /// The mode with a name.
    pub fn mode(&self, name: &str) -> Option<ModeId> {
        self.names.mode(name)
    }

    /// The position of a control by its name, from 0.
    pub fn position(&self, control: ControlId, name: &str) -> Option<u8> {
        self.names.position(control, name)
    }
}
