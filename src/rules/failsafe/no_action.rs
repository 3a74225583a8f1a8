//! `failsafe/no-action`: the controller does nothing at a lost link, or what it does is not stated.

use crate::findings::Severity;
use crate::fleet::craft::Craft;
use crate::fleet::words::LossAction;
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::failsafe::is_powered;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    match controller.on_loss {
        Some(loss) if loss.action == LossAction::Nothing => {
            let sentence = "The controller is to do nothing when the link is lost.";
            out.find(craft.head.place(loss.span), "nothing", sentence, []).severity(if is_powered(craft) {
                Severity::Danger
            } else {
                Severity::Caution
            });
        }
        Some(_) => {}
        None => {
            let sentence = "What the controller does when the link is lost is not stated.";
            out.find(craft.head.place(controller.header), "not stated", sentence, []).severity(Severity::Caution);
        }
    }
}
