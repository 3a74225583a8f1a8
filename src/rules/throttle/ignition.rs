//! `throttle/ignition`: the ignition of an engine that can't be trusted to be off.

use crate::findings::Severity;
use crate::findings::fact::{Fact, channel, name, text, us};
use crate::fleet::words::FailsafeAction;
use crate::rules::arming::demand;
use crate::rules::out::{Out, insert};
use crate::setup::{Ignition, Setup, Signals, Stop};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for ignition in setup.ignitions() {
        let Some(known) = out.channel(setup, ignition.channel) else { continue };
        let place = setup.in_model(known.header);
        let on = match out.ask(signals, &Question::is(ignition.on.clone()), place) {
            Some(Answer::Yes(witness)) => witness,
            _ => continue,
        };
        lost(setup, &ignition, out);
        if out.decide(signals, &ignition.turned_off(), place) == Some(false) {
            let sentence = "The ignition on channel {channel} can be on, and no movement of a switch turns it off.";
            out.find(place, "never off", sentence, [channel(ignition.channel)])
                .shown_by(signals.witness(&on.path))
                .other(ignition.place, "the ignition");
            continue;
        }
        started(setup, signals, &ignition, out);
        for (control, questions) in ignition.while_held(signals) {
            let held = name("control", signals.name(control));
            let [on_held, off_held] = questions;
            let cases = [
                (
                    "on while held",
                    on_held,
                    "The ignition on channel {channel} is on only while {control} is held: the engine stops when the finger leaves it.",
                ),
                (
                    "off while held",
                    off_held,
                    "The ignition on channel {channel} comes on again when {control} is let go: it is off only while that is held.",
                ),
            ];
            for (key, question, sentence) in cases {
                let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
                out.find(place, key, sentence, [channel(ignition.channel), held.clone()])
                    .shown_by(signals.witness(&witness.path_then(0)))
                    .other(ignition.place, "the ignition");
                break;
            }
        }
    }
}

/// The start check asks for the position in which the ignition is on.
fn started(setup: &Setup<'_>, signals: &Signals, ignition: &Ignition, out: &mut Out<'_>) {
    let stops = match ignition.stops(signals) {
        Ok(stops) => stops,
        Err(why) => return out.why(why, setup.channel_place(ignition.channel)),
    };
    let asked = |control| setup.demanded(signals, control);
    if stops.iter().any(|stop| asked(stop.control).is_some_and(|at| stop.stops.contains(&at))) {
        return;
    }
    let live =
        stops.iter().find_map(|stop| asked(stop.control).filter(|at| stop.lets.contains(at)).map(|at| (stop, at)));
    let Some((stop, at)) = live else { return unchecked(setup, signals, ignition, &stops, out) };
    let control = signals.name(stop.control);
    let Some(start) = setup.model.before_start.iter().find(|start| start.control.value == control) else { return };
    let facts = [
        channel(ignition.channel),
        name("control", control),
        text("position", signals.position_name(stop.control, at)),
    ];
    let sentence =
        "The start check asks for {control} at {position}, where the ignition on channel {channel} can be on.";
    out.find(setup.in_model(start.span), "asks for on", sentence, facts).other(ignition.place, "the ignition");
}

/// The start check asks for nothing that keeps the ignition off.
fn unchecked(setup: &Setup<'_>, signals: &Signals, ignition: &Ignition, stops: &[Stop], out: &mut Out<'_>) {
    let model = setup.model;
    let stays = |stop: &&Stop| signals.springs_to(stop.control).is_none();
    let Some(stop) = stops.iter().find(stays) else { return };
    let Some(&off) = stop.stops.first() else { return };
    let statement = demand(signals, stop.control, off);
    let facts = [channel(ignition.channel), name("control", signals.name(stop.control))];
    let sentence = "No start check looks at {control}, which turns the ignition on channel {channel} on and off.";
    out.find(setup.in_model(model.head.header), "unchecked", sentence, facts)
        .severity(Severity::Caution)
        .other(ignition.place, "the ignition")
        .mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
}

/// A lost link leaves it on, at any receiver that reaches it.
fn lost(setup: &Setup<'_>, ignition: &Ignition, out: &mut Out<'_>) {
    for at in setup.at_loss() {
        let reaches = at.receiver.is_none_or(|receiver| receiver.drives(ignition.channel));
        let Some(plan) = at.plan.filter(|_| reaches) else { continue };
        let on: Fact = channel(ignition.channel);
        match plan.action() {
            FailsafeAction::Hold => {
                let sentence = "When the link is lost the receiver holds the last pulses, that of the ignition on channel {channel} too: the engine runs on.";
                out.find(plan.place(), "held", sentence, [on]).other(ignition.place, "the ignition");
            }
            FailsafeAction::Preset => {
                let Some(stored) = plan.pulse(ignition.channel).filter(|stored| ignition.is_on_at(stored.pulse.value))
                else {
                    continue;
                };
                let sentence = "When the link is lost the receiver gives the ignition on channel {channel} a stored pulse of {stored}, which leaves it on.";
                out.find(plan.head.place(stored.span), "stored on", sentence, [on, us("stored", stored.pulse.value)])
                    .other(ignition.place, "the ignition");
            }
            _ => {}
        }
    }
}
