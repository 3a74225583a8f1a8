//! `failsafe/pulses-stop`: servos get no pulses at all when the link is lost.

use super::store;
use crate::fleet::craft::Outputs;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::is_motorless;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(plan) = setup.plan().filter(|plan| plan.failsafe.action.value == FailsafeAction::OutputStops) else {
        return;
    };
    let pulses =
        setup.receiver.and_then(|receiver| receiver.outputs).filter(|outputs| outputs.value == Outputs::Pulses);
    let Some(outputs) = pulses.filter(|_| setup.craft.controller.is_none()) else { return };
    if setup.craft.head.lost_here(&["controller"]) {
        return;
    }
    let mut message = "When the link is lost the receiver sends no pulses: the servos go limp or freeze".to_owned();
    if !is_motorless(setup.craft) {
        message += ", and the motor does what its own speed control does";
    }
    message.push('.');
    let choices = store(&plan, setup).into_iter().collect();
    out.find_text(plan.place(), message)
        .other(setup.in_craft(outputs.span), "the servos are plugged into the receiver")
        .mend_choices("Store a preset with the motor at idle and the surfaces where you want them.", choices);
}
