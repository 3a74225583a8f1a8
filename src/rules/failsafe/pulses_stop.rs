//! `failsafe/pulses-stop`: servos get no pulses at all when the link is lost.

use super::plan;
use crate::fleet::craft::Outputs;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some(plan) = plan(pair).filter(|plan| plan.failsafe.action.value == FailsafeAction::OutputStops) else {
        return;
    };
    let pulses = pair.receiver.and_then(|receiver| receiver.outputs).filter(|outputs| outputs.value == Outputs::Pulses);
    let Some(outputs) = pulses.filter(|_| pair.craft.controller.is_none()) else { return };
    if pair.craft.head.lost_any(&["controller"]) {
        return;
    }
    let mut message = "When the link is lost the receiver sends no pulses: the servos go limp or freeze".to_owned();
    if !super::is_motorless(pair.craft) {
        message += ", and the motor does what its own speed control does";
    }
    message.push('.');
    let choices = plan.store(pair).into_iter().collect();
    out.find(plan.place(), message)
        .other(pair.in_craft(outputs.span), "the servos are plugged into the receiver")
        .mend_choices("Store a preset with the motor at idle and the surfaces where you want them.", choices);
}
