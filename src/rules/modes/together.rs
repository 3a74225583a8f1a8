//! `modes/together`: two modes are on at the same time by one channel, or one control by itself turns on modes of two channels.

use super::{Seen, modes};
use crate::findings::Severity;
use crate::findings::fact::{channels, name, text};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, ControlId, Path, Question, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let modes = modes(setup, signals);
    modes.iter().for_each(|mode| with_arm(setup, signals, mode, out));
    let modes: Vec<Seen<'_>> = modes.into_iter().filter(is_of_flight).collect();
    let start = Path::at(signals.start(&setup.demands(signals)));
    let mut told = Vec::new();
    for (at, one) in modes.iter().enumerate() {
        for other in modes.iter().skip(at + 1) {
            // What excludes another has a rule of its own.
            let excludes = |a: &Seen<'_>, b: &Seen<'_>| {
                a.mode.excludes.as_ref().is_some_and(|name| name.value == b.mode.name.value)
            };
            if excludes(one, other) || excludes(other, one) {
                continue;
            }
            let (here, there) = (one.mode.channels(), other.mode.channels());
            if here == there {
                overlap(setup, signals, [one, other], out);
            } else if !here.iter().any(|channel| there.contains(channel)) {
                shared(setup, signals, &start, [one, other], &mut told, out);
            }
        }
    }
}

/// A mode that is read from the channel of the arming switch, and that is on where that asks to arm and nowhere else.
fn with_arm(setup: &Setup<'_>, signals: &Signals, seen: &Seen<'_>, out: &mut Out<'_>) {
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    let Some(arm) = modes.into_iter().find(|mode| mode.name.value == "arm") else { return };
    let Some(asks) = signals.mode("arm").filter(|_| arm.channels() == seen.mode.channels()) else { return };
    let not = |condition: &Condition| Condition::Not(Box::new(condition.clone()));
    let both = Question::is(Condition::All(vec![asks.clone(), seen.on.clone()]));
    let Some(Answer::Yes(witness)) = out.ask(signals, &both, seen.place) else { return };
    for alone in [[asks.clone(), not(&seen.on)], [not(&asks), seen.on.clone()]] {
        if !matches!(out.ask(signals, &Question::is(Condition::All(alone.to_vec())), seen.place), Some(Answer::No(_))) {
            return;
        }
    }
    let flies = matches!(seen.mode.kind.map(|kind| kind.value), Some(ModeKind::Return | ModeKind::Land));
    let facts = [channels("channels", arm.channels()), name("mode", seen.mode.name.value.clone())];
    let sentence = "Mode {mode} is read from the channel of the arming switch ({channels}): it is on whenever the motors are live, and never else.";
    out.find(setup.in_craft(seen.mode.span), "with arm", sentence, facts)
        .severity(if flies { Severity::Danger } else { Severity::Caution })
        .case("with arm")
        .shown_by(signals.witness(&witness.path))
        .other(setup.in_craft(arm.span), "where it is made live")
        .mend_words("Give the mode the channel that was meant for it, or take it away if your controller has it on all the time.");
}

/// Both ranges of one channel hold one of its pulses.
fn overlap(setup: &Setup<'_>, signals: &Signals, [one, other]: [&Seen<'_>; 2], out: &mut Out<'_>) {
    let question = Question::is(Condition::All(vec![one.on.clone(), other.on.clone()]));
    let Some(Answer::Yes(witness)) = out.ask(signals, &question, one.place) else { return };
    let facts = [
        channels("channels", one.mode.channels()),
        name("mode", one.mode.name.value.clone()),
        name("other", other.mode.name.value.clone()),
    ];
    let sentence = "One position of channel {channels} turns modes {mode} and {other} on at the same time.";
    out.find(one.place, "overlap", sentence, facts)
        .shown_by(signals.witness(&witness.path))
        .other(setup.in_craft(one.mode.span), "one range")
        .other(setup.in_craft(other.mode.span), "the other");
}

/// One control, moved by itself from where the start check wants everything, chooses both.
fn shared(
    setup: &Setup<'_>,
    signals: &Signals,
    start: &Path,
    [one, other]: [&Seen<'_>; 2],
    told: &mut Vec<ControlId>,
    out: &mut Out<'_>,
) {
    for control in signals.switches() {
        let turns = |seen: &Seen<'_>| turned_on(signals, start, control, seen);
        let (Some((at, path)), Some(_)) = (turns(one), turns(other)) else { continue };
        if told.contains(&control) {
            return;
        }
        told.push(control);
        let facts = [
            channels("channels", one.mode.channels()),
            name("control", signals.name(control)),
            text("position", signals.position_name(control, at)),
            name("mode", one.mode.name.value.clone()),
            name("other", other.mode.name.value.clone()),
        ];
        let ends = [one, other].into_iter().any(|seen| seen.mode.kind.is_some());
        let sentence = "{control} turns mode {mode} on (at {position}), and it also chooses mode {other}, which is read from another channel.";
        out.find(one.place, "shared", sentence, facts)
            .severity(if ends { Severity::Caution } else { Severity::Note })
            .shown_by(signals.witness(&path))
            .other(setup.in_craft(one.mode.span), "one mode")
            .other(setup.in_craft(other.mode.span), "the other");
        return;
    }
}

/// The first position of a control that turns a mode on, where another leaves it off.
fn turned_on(signals: &Signals, start: &Path, control: ControlId, seen: &Seen<'_>) -> Option<(u8, Path)> {
    let channels = seen.mode.channels();
    if !channels.iter().any(|&channel| signals.program().mentions(u16::from(channel)).controls.contains(&control)) {
        return None;
    }
    let paths = (0..signals.positions(control)).map(|at| (at, start.clone().then(control, Setting::Position(at))));
    let (on, off): (Vec<_>, Vec<_>) =
        paths.partition(|(_, path)| signals.program().holds(path, &seen.on) == Some(true));
    if off.is_empty() { None } else { on.into_iter().next() }
}

fn is_of_flight(seen: &Seen<'_>) -> bool {
    matches!(seen.mode.kind.map(|kind| kind.value), None | Some(ModeKind::Return | ModeKind::Land))
}
