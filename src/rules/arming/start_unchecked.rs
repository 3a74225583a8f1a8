//! `arming/start-unchecked`: nobody looks at the arming switch when the handset is turned on.

use super::{arming, controls, demand};
use crate::findings::Severity;
use crate::fleet::craft::Arm;
use crate::rules::out::{Out, insert};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let model = setup.model;
    if model.head.lost_here(&["before-start"]) {
        return;
    }
    let Some(arming) = arming(setup) else { return };
    let Some(controls) = controls(&arming, out) else { return };
    let demands = setup.demands(arming.signals);
    // A demand that itself asks to arm has a rule of its own.
    if controls.is_empty() || demands.iter().any(|(control, _)| controls.contains(control)) {
        return;
    }
    let refuses = setup.craft.controller.as_ref().and_then(|controller| controller.arm);
    let refuses = matches!(refuses.map(|arm| arm.value), Some(Arm::Switch { seen_off: true, .. }));
    let names: Vec<String> = controls.iter().map(|&control| format!("\"{}\"", arming.signals.name(control))).collect();
    let message = format!("No start check looks at {}, which asks to arm.", names.join(" or "));
    let mend = arming
        .quiet_positions(setup, controls)
        .first()
        .map(|&(control, position)| demand(arming.signals, control, position));
    let finding = out.find(setup.in_model(model.head.header), message);
    finding.severity(if refuses { Severity::Caution } else { Severity::Danger });
    if let Some(statement) = mend {
        finding.mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
    }
}
