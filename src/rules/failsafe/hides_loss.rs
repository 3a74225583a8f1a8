//! `failsafe/hides-loss`: the stored pulses look like a pilot, so the controller never learns that the link is lost.

use super::{FROZEN, action, flags_loss, preset, stop_outputs};
use crate::findings::Severity;
use crate::fleet::craft::Outputs;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::failsafe::acts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(plan), Some(controller)) = (preset(setup), &setup.craft.controller) else { return };
    let Some(loss) = acts(controller) else { return };
    let flags = flags_loss(setup);
    let home = plan.brings_home(controller);
    let outside =
        |(low, high)| plan.failsafe.preset.iter().any(|pulse| pulse.pulse.value < low || pulse.pulse.value > high);
    let seen = controller.valid.map(|valid| outside(valid.value));
    if flags == Some(true) || home == Some(true) || seen == Some(true) || plan.failsafe.preset.is_empty() {
        return;
    }
    let mut unless = Vec::new();
    if flags.is_none() {
        unless.push("the receiver flags the loss");
    }
    if seen.is_none() {
        unless.push("the controller takes one of the pulses for invalid");
    }
    if home.is_none() || plan.is_partly_lost() {
        unless.push("a channel that is not in the preset turns on a mode that flies back or lands");
    }
    let mut message = format!(
        "When the link is lost the controller is to {}, but it can't notice the loss: the receiver gives out stored pulses that all look like ordinary ones.",
        action(loss.action)
    );
    if !unless.is_empty() {
        message += &format!(" That is so unless {}; the description does not say.", unless.join(", or "));
    }
    let mut choices = vec![stop_outputs(&plan)];
    if let Some(outputs) = setup.receiver.and_then(|receiver| receiver.outputs)
        && outputs.value == (Outputs::Serial { flags_loss: false })
        && plan.head.file == setup.craft.head.file
    {
        let edit = replace(&setup.craft.head, outputs.span, "outputs serial flags-loss");
        choices.push(choice("keep the preset, and have the receiver flag the loss, if it can", vec![edit]));
    }
    let words = format!("Let the receiver stop its outputs, or flag the loss. {FROZEN}");
    out.find_text(plan.place(), message)
        .severity(if unless.is_empty() { Severity::Danger } else { Severity::Caution })
        .other(setup.in_craft(loss.span), "what the controller is to do when it notices")
        .mend_choices(words, choices);
}
