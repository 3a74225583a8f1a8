//! `modes/no-stop`: arming may refuse to end aloft, and no mode stops the motors in any case.

use crate::fleet::craft::Craft;
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    let Some(refuses) = controller.refuses_stop_aloft else { return };
    let stops = controller.modes.iter().any(|mode| mode.kind.is_some_and(|kind| kind.value == ModeKind::Stop));
    if !stops {
        let sentence = "The arming switch may not stop the motors aloft, and no mode of kind stop is stated.";
        out.find(craft.head.place(refuses), "no stop", sentence, []);
    }
}
