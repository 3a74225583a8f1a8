//! `arming/start-demands-armed`: the start check asks for the very position that asks to arm.

use crate::findings::coverage::Missing;
use crate::findings::fact::{channel, name, text};
use crate::fleet::model::BeforeStart;
use crate::rules::out::{Out, replace};
use crate::setup::{Setup, Signals};
use crate::signal::Path;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    if setup.model.before_start.is_empty() {
        return;
    }
    let Some(arming) = setup.arming(signals) else { return };
    let start = signals.start(&setup.demands(signals));
    let known = |demand: &&BeforeStart| signals.lowered().control(&demand.control.value).is_some();
    if let Some(unknown) = setup.model.before_start.iter().find(|demand| !known(demand)) {
        out.misses(Missing::Line(setup.in_model(unknown.span)));
    }
    match arming.asks_at(start.clone()) {
        Some(true) => {}
        Some(false) => return,
        None => {
            let why = "what it gives there before the start is not known".into();
            return out.misses(Missing::SignalPath { place: setup.channel_place(arming.channel), why });
        }
    }
    let Some(controls) = out.arming_controls(signals, arming.place) else { return };
    let quiet = arming.quiet_positions(setup, controls);
    for demand in &setup.model.before_start {
        let Some(control) = signals.lowered().control(&demand.control.value) else { continue };
        // An axis is no arming control, and may be what asks: without its demand nothing would.
        let others = setup.demands(signals).into_iter().filter(|(known, _)| *known != control).collect::<Vec<_>>();
        if !controls.contains(&control) && arming.asks_at(signals.start(&others)) != Some(false) {
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
            let label = format!("demand {word}, where it does not ask to arm");
            // With more than two positions it is the pilot who knows where the control is to stand.
            match signals.positions(control) {
                2 => finding.mend_sure(label, vec![edit]),
                _ => finding.mend_offer(label, vec![edit]),
            };
        }
    }
}
