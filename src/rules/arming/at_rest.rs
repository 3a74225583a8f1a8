//! `arming/at-rest`: the request to arm is there as soon as the handset is turned on.

use super::demand;
use crate::findings::fact::channel;
use crate::rules::out::{Out, choice, insert};
use crate::setup::{Setup, Signals};
use crate::signal::{Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    let demands = setup.demands(signals);
    let start = signals.start(&demands);
    if arming.asks_at(start.clone()) != Some(true) {
        return;
    }
    // Where nothing ever ends it, or where the start check itself demands it, other rules say so.
    if out.decide(signals, &Question::is(arming.quiet.clone()), arming.place) != Some(true) {
        return;
    }
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    if demands.iter().any(|(control, _)| controls.contains(control)) {
        return;
    }
    let head = &setup.model.head;
    let quiet = arming.quiet_positions(setup, controls);
    let choices = quiet.iter().map(|&(control, position)| {
        let statement = demand(signals, control, position);
        choice(format!("have the start check ask for it: {statement}"), vec![insert(head, &head.body, &statement)])
    });
    let (key, sentence) = match demands.is_empty() {
        true => ("at rest", "With every control at rest, the model already asks to arm."),
        false => ("as demanded", "With the controls as the start check demands them, the model already asks to arm."),
    };
    let words = "Turn the arming channel round, so that the position at rest is off, or have the start check demand the position that is off.";
    out.find(arming.place, key, sentence, [channel(arming.channel)])
        .shown_by(signals.witness(&Path::at(start)))
        .mend_choices(words, choices.collect());
}
