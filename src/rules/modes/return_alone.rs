//! `modes/return-alone`: flying home without a sensor that knows where home is.

use crate::fleet::craft::Craft;
use crate::fleet::words::{LossAction, ModeKind};
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    if controller.position.is_some_and(|position| position.value)
        || craft.head.lost_within(controller.body.whole, &["position"])
    {
        return;
    }
    let position = match controller.position {
        Some(_) => "the description says that there is no position sensor",
        None => "the description states no position sensor",
    };
    for mode in controller.modes.iter().filter(|mode| mode.kind.is_some_and(|kind| kind.value == ModeKind::Return)) {
        let message = format!("Mode \"{}\" flies home, and {position}.", mode.name.value);
        out.find(craft.head.place(mode.span), message);
    }
    if let Some(loss) = controller.on_loss.filter(|loss| loss.action == LossAction::FlyBack) {
        out.find(
            craft.head.place(loss.span),
            format!("When the link is lost the controller is to fly back, and {position}."),
        );
    }
}
