//! Rules about the controller's modes: can they be turned on, and off, and what else comes with them.

pub(super) mod clash;
pub(super) mod ground_only;
pub(super) mod no_stop;
pub(super) mod return_alone;
pub(super) mod stuck;
pub(super) mod unreachable;

use crate::fleet::craft::Mode;
use crate::setup::{Setup, Signals};
use crate::signal::Condition;
use crate::source::Place;

/// A mode, the condition that it is on, and the place of its channel in the model.
type Seen<'p> = (&'p Mode, Condition, Place);

/// The modes of a setup that are no request to arm, each as a condition, with the place of its channel in the model.
fn modes<'p>(setup: &'p Setup<'_>) -> Option<(&'p Signals, Vec<Seen<'p>>)> {
    let controller = setup.craft.controller.as_ref()?;
    if controller.modes.is_empty() {
        return None;
    }
    let signals = setup.signals()?;
    let modes = controller.modes.iter().filter(|mode| mode.name.value != "arm").filter_map(|mode| {
        let place = setup.channel_place(mode.tests.first()?.channel.value);
        Some((mode, signals.mode(&mode.name.value)?, place))
    });
    Some((signals, modes.collect()))
}
