//! `modes/together`: two modes are on at the same time by one channel, or one control by itself turns on modes of two channels.

use super::{Seen, modes};
use crate::findings::Severity;
use crate::findings::fact::{channels, name, text};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, ControlId, Path, Question, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let modes: Vec<Seen<'_>> = modes(setup, signals).into_iter().filter(is_of_flight).collect();
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
