//! `arming/start-demands-armed`: the start check asks for the very position that asks to arm.

use super::{arming, controls};
use crate::rules::out::{Out, replace};
use crate::setup::Setup;
use crate::signal::Path;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    if setup.model.before_start.is_empty() {
        return;
    }
    let Some(arming) = arming(setup) else { return };
    let start = arming.signals.start(&setup.demands(arming.signals));
    if arming.asks_at(start.clone()) != Some(true) {
        return;
    }
    let Some(controls) = controls(&arming, out) else { return };
    let quiet = arming.quiet_positions(setup, controls);
    for demand in &setup.model.before_start {
        let Some(control) = arming.signals.lowered().control(&demand.control.value) else { continue };
        if !controls.contains(&control) {
            continue;
        }
        let message = format!(
            "The start check demands \"{}\" at {}, and there the model asks to arm.",
            demand.control.value, demand.position.value
        );
        let witness = arming.signals.witness(&Path::at(start.clone()));
        let finding = out.find(setup.in_model(demand.span), message).shown_by(witness);
        if let Some(&(_, position)) = quiet.iter().find(|(known, _)| *known == control) {
            let word = arming.signals.position_name(control, position);
            let edit = replace(&setup.model.head, demand.position.span, word.clone());
            finding.mend_sure(format!("demand {word}, where it does not ask to arm"), vec![edit]);
        }
    }
}
