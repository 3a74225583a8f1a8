//! `failsafe/no-action`: the controller does nothing at a lost link, or what it does is not stated.

use crate::findings::Severity;
use crate::fleet::craft::Craft;
use crate::fleet::words::{CraftKind, LossAction};
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::failsafe::is_motorless;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    match controller.on_loss {
        Some(loss) if loss.action == LossAction::Nothing => {
            // A glider whose description does not speak of a motor may have none.
            let glider = craft.kind.is_some_and(|kind| kind.value == CraftKind::Glider) && craft.motor.is_none();
            let powered = !is_motorless(craft) && !glider;
            out.find_text(craft.head.place(loss.span), "The controller is to do nothing when the link is lost.")
                .severity(if powered { Severity::Danger } else { Severity::Caution });
        }
        Some(_) => {}
        None if craft.head.lost_within(controller.body.whole, &["on-loss"]) => {}
        None => {
            out.find_text(
                craft.head.place(controller.header),
                "What the controller does when the link is lost is not stated.",
            )
            .severity(Severity::Caution);
        }
    }
}
