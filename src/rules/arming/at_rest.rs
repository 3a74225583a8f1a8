//! `arming/at-rest`: the request to arm is there as soon as the handset is turned on.

use super::{arming, controls, demand};
use crate::rules::out::{Out, choice, insert};
use crate::setup::Setup;
use crate::signal::{Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    let demands = setup.demands(arming.signals);
    let start = arming.signals.start(&demands);
    if arming.asks_at(start.clone()) != Some(true) {
        return;
    }
    // Where nothing ever ends it, or where the start check itself demands it, other rules say so.
    if out.decide(arming.signals, &Question::is(arming.quiet.clone()), arming.place) != Some(true) {
        return;
    }
    let Some(controls) = controls(&arming, out) else { return };
    if demands.iter().any(|(control, _)| controls.contains(control)) {
        return;
    }
    let quiet = arming.quiet_positions(setup, controls);
    let witness = arming.signals.witness(&Path::at(start));
    let how = if demands.is_empty() {
        "With every control at rest"
    } else {
        "With the controls as the start check demands them"
    };
    let head = &setup.model.head;
    let choices = quiet.iter().map(|&(control, position)| {
        let statement = demand(arming.signals, control, position);
        choice(format!("have the start check ask for it: {statement}"), vec![insert(head, &head.body, &statement)])
    });
    let words = "Turn the arming channel round, so that the position at rest is off, or have the start check demand the position that is off.";
    out.find(arming.place, format!("{how}, the model already asks to arm."))
        .shown_by(witness)
        .mend_choices(words, choices.collect());
}
