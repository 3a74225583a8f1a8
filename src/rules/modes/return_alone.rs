//! `modes/return-alone`: flying home without a sensor that knows where home is.

use crate::findings::fact::{name, word};
use crate::fleet::craft::Craft;
use crate::fleet::words::{LossAction, ModeKind};
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    if controller.position.is_some_and(|position| position.value) {
        return;
    }
    let position = match controller.position {
        Some(_) => word("position", "the description says that there is no position sensor"),
        None => word("position", "the description states no position sensor"),
    };
    for mode in controller.modes.iter().filter(|mode| mode.kind.is_some_and(|kind| kind.value == ModeKind::Return)) {
        let facts = [name("mode", mode.name.value.clone()), position.clone()];
        out.find(craft.head.place(mode.span), "mode", "Mode {mode} flies home, and {position}.", facts);
    }
    if let Some(loss) = controller.on_loss.filter(|loss| loss.action == LossAction::FlyBack) {
        let sentence = "When the link is lost the controller is to fly back, and {position}.";
        out.find(craft.head.place(loss.span), "on loss", sentence, [position]);
    }
}
