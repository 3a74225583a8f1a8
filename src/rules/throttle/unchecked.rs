//! `throttle/unchecked`: no start check asks for a low throttle.

use crate::findings::Severity;
use crate::fleet::craft::Arm;
use crate::rules::out::{Out, insert};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (model, craft) = (setup.model, setup.craft);
    if model.before_start.iter().any(|start| start.control.value == "throttle") {
        return;
    }
    let arm = craft.controller.as_ref().and_then(|controller| controller.arm);
    let insists = matches!(arm.map(|arm| arm.value), Some(Arm::Switch { low_throttle: true, .. }));
    let (key, severity, sentence) = match insists {
        true => (
            "controller insists",
            Severity::Caution,
            "No start check asks for a low throttle: only the flight controller would notice a stick that is up.",
        ),
        false => (
            "nothing insists",
            Severity::Danger,
            "No start check asks for a low throttle: nothing else is stated to notice a stick that is up.",
        ),
    };
    let statement = "before-start throttle low";
    out.find(setup.in_model(model.head.header), key, sentence, [])
        .severity(severity)
        .mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, statement)]);
}
