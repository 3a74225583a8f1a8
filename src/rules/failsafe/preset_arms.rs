//! `failsafe/preset-arms`: the stored failsafe keeps asking to arm, and the controller has no plan of its own.

use super::{FROZEN, once_all_have, presets, written};
use crate::findings::Severity;
use crate::findings::fact::{channel, us};
use crate::rules::out::{Out, replace};
use crate::setup::Setup;
use crate::setup::failsafe::{acts, rest_outside};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    let Some(mode) = controller.arm_mode() else { return };
    if acts(controller).is_some() {
        return;
    }
    for (at, plan) in presets(setup) {
        let home = plan.brings_home(controller);
        if plan.turns_on(mode) != Some(true) || home == Some(true) {
            continue;
        }
        let Some((test, stored)) = plan.looked_at(mode) else { continue };
        let (low, high) = test.range.value;
        let sentence = "When the link is lost the receiver goes on asking to arm: the stored pulse of channel {channel} is {stored}, and the controller arms from {low} to {high}. No plan of the controller's own for a lost link is stated.";
        let facts = [channel(test.channel.value), us("stored", stored.pulse.value), us("low", low), us("high", high)];
        let finding = out.find(plan.head.place(stored.span), "asks", sentence, facts);
        finding.severity(if home.is_none() { Severity::Caution } else { Severity::Danger });
        finding.other(setup.in_craft(mode.span), "what asks to arm");
        once_all_have(setup, at, finding);
        if let Some(rest) = setup.signals().and_then(|signals| rest_outside(signals, test)) {
            let rest = written(&rest);
            let label = format!("store {rest}, which does not ask to arm. {FROZEN}");
            finding.mend_offer(label, vec![replace(plan.head, stored.pulse.span, rest)]);
        }
    }
}
