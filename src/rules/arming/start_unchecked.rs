//! `arming/start-unchecked`: nobody looks at the arming switch when the handset is turned on.

use super::demand;
use crate::findings::Severity;
use crate::findings::fact::{Joined, channel, names};
use crate::fleet::craft::Arm;
use crate::rules::out::{Out, insert};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let model = setup.model;
    let Some(arming) = setup.arming(signals) else { return };
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    // One that springs back is where it rests when the handset is turned on, unless a hand is on it.
    let controls: Vec<_> =
        controls.iter().copied().filter(|&control| setup.springs_to(signals.name(control)).is_none()).collect();
    // A demand that itself asks to arm has a rule of its own.
    if controls.is_empty() || setup.demands(signals).iter().any(|(control, _)| controls.contains(control)) {
        return;
    }
    let refuses = setup.craft.controller.as_ref().and_then(|controller| controller.arm);
    let refuses = matches!(refuses.map(|arm| arm.value), Some(Arm::Switch { seen_off: true, .. }));
    let names = names("controls", Joined::Or, controls.iter().map(|&control| signals.name(control)));
    let sentence = "No start check looks at {controls}, which asks to arm.";
    let quiet = arming.quiet_positions(setup, &controls);
    let finding = out.find(setup.in_model(model.head.header), "unchecked", sentence, [channel(arming.channel), names]);
    finding.severity(if refuses { Severity::Caution } else { Severity::Danger });
    if let Some(&(control, position)) = quiet.first() {
        let statement = demand(signals, control, position);
        let (label, edits) = (format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
        // With more than two positions, or more controls, it is the pilot who knows what is to be asked for.
        match (quiet.len(), signals.positions(control)) {
            (1, 2) => finding.mend_sure(label, edits),
            _ => finding.mend_offer(label, edits),
        };
    }
}
