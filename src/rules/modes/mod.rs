//! Rules about the controller's modes: can they be turned on, and off, and what else comes with them.

rules_of!(modes);

use crate::fleet::craft::Mode;
use crate::setup::{Setup, Signals};
use crate::signal::Condition;
use crate::source::Place;

/// A mode that is no request to arm.
struct Seen<'p> {
    mode: &'p Mode,
    /// It is on.
    on: Condition,
    /// Its first channel in the model.
    place: Place,
}

/// The modes of a setup that are no request to arm.
fn modes<'p>(setup: &'p Setup<'_>, signals: &Signals) -> Vec<Seen<'p>> {
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    let others = modes.filter(|mode| mode.name.value != "arm").filter_map(|mode| {
        let place = setup.channel_place(mode.tests().next()?.channel.value);
        Some(Seen { mode, on: signals.mode(&mode.name.value)?, place })
    });
    others.collect()
}
