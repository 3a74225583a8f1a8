//! A description that can be asked: a program together with the names that its parts have there.

use crate::fleet::condition as written;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::{Handset, Link};
use crate::fleet::model::Model;
use crate::signal::program::lower::{Names, Unclear, lowering};
use crate::signal::program::parts::{Condition, ControlId, ModeId};
use crate::signal::solve::program::Program;

/// A program together with the names that its parts have in the description.
#[derive(Clone, Debug)]
pub struct Lowered {
    /// The program.
    pub program: Program,
    names: Names,
}

/// Puts model, handset, link and aircraft together to a program.
///
/// # Errors
/// [`Unclear`] where the description has faults that touch the signal path (they are findings already), where a limit
/// of [`Program`] is passed, or where the handset states no scale.
pub fn lower(model: &Model, handset: &Handset, link: Option<&Link>, craft: Option<&Craft>) -> Result<Lowered, Unclear> {
    let (compiled, names) = lowering(model, handset, link, craft)?;
    Ok(Lowered { program: Program::of(compiled), names })
}

impl Lowered {
    /// A condition of `expect` or of a query: its pulses are the ones received.
    ///
    /// # Errors
    /// [`Unclear`] where it names something that is not there.
    pub fn condition(&self, condition: &written::Condition) -> Result<Condition, Unclear> {
        self.names.condition(condition)
    }

    /// A condition of `when` or `while`: its pulses are the ones sent.
    ///
    /// # Errors
    /// As [`Lowered::condition`].
    pub fn when(&self, condition: &written::Condition) -> Result<Condition, Unclear> {
        self.names.when(condition)
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
