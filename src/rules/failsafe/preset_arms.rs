//! `failsafe/preset-arms`: the stored failsafe keeps asking to arm, and the controller has no plan of its own.

use super::{FROZEN, preset, rest_pulse};
use crate::findings::Severity;
use crate::rules::out::{Out, replace};
use crate::rules::wording::us;
use crate::setup::Setup;
use crate::setup::failsafe::acts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(plan), Some(controller)) = (preset(setup), &setup.craft.controller) else { return };
    let Some(mode) = controller.arm_mode() else { return };
    let home = plan.brings_home(controller);
    let unknown = setup.craft.head.lost_within(controller.body.whole, &["on-loss", "mode"]);
    if acts(controller).is_some() || unknown || plan.turns_on(mode) != Some(true) || home == Some(true) {
        return;
    }
    let Some((test, stored)) = mode.tests.iter().find_map(|test| Some((test, plan.pulse(test.channel.value)?))) else {
        return;
    };
    let message = format!(
        "When the link is lost the receiver goes on asking to arm: the stored pulse of channel {} is {} us, and the controller arms from {} us to {} us. No plan of the controller's own for a lost link is stated.",
        test.channel.value, stored.pulse.value, test.range.value.0, test.range.value.1
    );
    let (low, high) = (test.range.value.0.to_f64(), test.range.value.1.to_f64());
    let rest = rest_pulse(setup, test.channel.value).filter(|rest| *rest < low || *rest > high);
    let finding = out.find_text(plan.head.place(stored.span), message);
    finding.severity(if home.is_none() { Severity::Caution } else { Severity::Danger });
    finding.other(setup.in_craft(mode.span), "what asks to arm");
    if let Some(rest) = rest {
        let label = format!("store {}, which does not ask to arm. {FROZEN}", us(rest));
        finding.mend_sure(label, vec![replace(plan.head, stored.pulse.span, us(rest))]);
    }
}
