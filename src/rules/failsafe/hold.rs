//! `failsafe/hold`: the last commands are repeated without end when the link is lost.

use super::{flags_loss, stop_outputs, store};
use crate::findings::Severity;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::is_motorless;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(plan) = setup.plan().filter(|plan| plan.failsafe.action.value == FailsafeAction::Hold) else { return };
    let flags = flags_loss(setup);
    if flags == Some(true) {
        return;
    }
    let mut message =
        "When the link is lost the receiver repeats the last commands for as long as it has power.".to_owned();
    let controller = setup.craft.controller.as_ref();
    if controller.is_some() && flags.is_none() {
        message += " Unless it flags the loss, which the description does not say, the controller does not notice.";
    } else if controller.is_some() {
        message += " The flight controller does not notice the loss.";
    }
    // Outputs that are not stated may flag the loss after all: what is not known is no danger.
    let severity = if is_motorless(setup.craft) || (controller.is_some() && flags.is_none()) {
        Severity::Caution
    } else {
        Severity::Danger
    };
    let words = out.doc.mend.split("\n\n").nth(usize::from(controller.is_none())).unwrap_or_default();
    let choices = match controller {
        Some(_) => vec![stop_outputs(&plan)],
        None => store(&plan, setup).into_iter().collect(),
    };
    out.find_text(plan.place(), message).severity(severity).mend_choices(words.replace('\n', " "), choices);
}
