//! `failsafe/hides-loss`: the stored pulses look like a pilot, so the controller never learns that the link is lost.

use super::{FROZEN, action, once_all_have, presets, stop_outputs};
use crate::findings::Severity;
use crate::findings::fact::{FactValue, Joined, list, word};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::failsafe::acts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    let Some(loss) = acts(controller) else { return };
    for (at, plan) in presets(setup) {
        let (flags, home, seen) = (at.flags_loss(), plan.brings_home(controller), plan.is_seen(controller));
        if flags == Some(true) || home == Some(true) || seen == Some(true) || plan.failsafe.preset.is_empty() {
            continue;
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
        let mut choices = vec![stop_outputs(&plan)];
        if let Some(outputs) = at.unflagged().filter(|_| plan.head.file == setup.craft.head.file) {
            let edit = replace(&setup.craft.head, outputs, "outputs serial flags-loss");
            choices.push(choice("keep the preset, and have the receiver flag the loss, if it can", vec![edit]));
        }
        let sentence = "When the link is lost the controller is to {plan}, but it can't notice the loss: the receiver gives out stored pulses that all look like ordinary ones.";
        let finding = out.find(plan.place(), "unnoticed", sentence, [word("plan", action(loss.action))]);
        if !unless.is_empty() {
            let sentence = ["That is so unless ", &unless.join(", or "), "; the description does not say."].concat();
            let facts = list("unless", Joined::Or, unless.iter().copied().map(FactValue::Word));
            finding.also("not stated", &sentence, [facts]);
        }
        once_all_have(setup, at, finding);
        finding
            .severity(if unless.is_empty() { Severity::Danger } else { Severity::Caution })
            .other(setup.in_craft(loss.span), "what the controller is to do when it notices")
            .mend_choices(format!("Let the receiver stop its outputs, or flag the loss. {FROZEN}"), choices);
    }
}
