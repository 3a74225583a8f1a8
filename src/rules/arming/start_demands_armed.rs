//! `arming/start-demands-armed`: the start check asks for the very position that asks to arm.

use crate::findings::fact::{channel, name, text};
use crate::rules::out::{Out, replace};
use crate::setup::{Setup, Signals};
use crate::signal::Path;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    if setup.model.before_start.is_empty() {
        return;
    }
    let Some(arming) = setup.arming(signals) else { return };
    let start = signals.start(&setup.demands(signals));
    if arming.asks_at(start.clone()) != Some(true) {
        return;
    }
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    let quiet = arming.quiet_positions(setup, controls);
    for demand in &setup.model.before_start {
        let Some(control) = signals.lowered().control(&demand.control.value) else { continue };
        if !controls.contains(&control) {
            continue;
        }
        let facts = [
            channel(arming.channel),
            name("control", demand.control.value.clone()),
            text("position", demand.position.value.clone()),
        ];
        let sentence = "The start check demands {control} at {position}, and there the model asks to arm.";
        let finding = out.find(setup.in_model(demand.span), "demanded", sentence, facts);
        finding.shown_by(signals.witness(&Path::at(start.clone())));
        if let Some(&(_, position)) = quiet.iter().find(|(known, _)| *known == control) {
            let word = signals.position_name(control, position);
            let edit = replace(&setup.model.head, demand.position.span, word.clone());
            finding.mend_sure(format!("demand {word}, where it does not ask to arm"), vec![edit]);
        }
    }
}
