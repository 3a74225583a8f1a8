//! `arming/start-unchecked`: nobody looks at the arming switch when the handset is turned on.

use super::{Arming, controls, demand, quiet_position};
use crate::findings::Severity;
use crate::fleet::craft::Arm;
use crate::rules::out::{Out, insert};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let model = pair.model;
    if model.head.lost_any(&["before-start"]) {
        return;
    }
    let Some(arming) = Arming::of(pair) else { return };
    let Some(controls) = controls(&arming, out) else { return };
    let demands = pair.demands();
    // A demand that itself asks to arm has a rule of its own.
    if controls.is_empty() || demands.iter().any(|(control, _)| controls.contains(control)) {
        return;
    }
    let refuses = pair.craft.controller.as_ref().and_then(|controller| controller.arm);
    let refuses = matches!(refuses.map(|arm| arm.value), Some(Arm::Switch { seen_off: true, .. }));
    let names: Vec<String> = controls.iter().map(|&control| format!("\"{}\"", arming.signals.name(control))).collect();
    let message = format!("No start check looks at {}, which asks to arm.", names.join(" or "));
    let mend = quiet_position(pair, &arming, controls)
        .first()
        .map(|&(control, position)| demand(arming.signals, control, position));
    let finding = out.find(pair.in_model(model.head.header), message);
    finding.severity(if refuses { Severity::Caution } else { Severity::Danger });
    if let Some(statement) = mend {
        finding.mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
    }
}
