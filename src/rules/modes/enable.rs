//! `modes/enable`: the second switch that allows arming allows it without being touched, or does another job too.

use super::modes;
use crate::findings::Severity;
use crate::findings::fact::{channels, name};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, ControlId, Movers, Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let modes = modes(setup, signals);
    let is_enable = |kind: Option<ModeKind>| kind == Some(ModeKind::Enable);
    for enable in modes.iter().filter(|seen| is_enable(seen.mode.kind.map(|kind| kind.value))) {
        let numbers = || channels("channels", enable.mode.tests().map(|test| test.channel.value));
        let mode = || name("mode", enable.mode.name.value.clone());
        let off = Question::is(Condition::Not(Box::new(enable.on.clone())));
        if out.decide(signals, &off, enable.place) == Some(false) {
            let sentence = "Mode {mode}, which allows arming, is on in every position of every control.";
            out.find(enable.place, "always", sentence, [numbers(), mode()])
                .severity(Severity::Danger)
                .mend_words("Put the mode on a switch of its own that is off in its first position.");
            continue;
        }
        let start = Path::at(signals.start(&setup.demands(signals)));
        if signals.program().holds(&start, &enable.on) == Some(true) {
            let sentence = "Mode {mode}, which allows arming, is on before anybody has moved a switch.";
            out.find(enable.place, "at rest", sentence, [numbers(), mode()])
                .severity(Severity::Danger)
                .shown_by(signals.witness(&start))
                .mend_words("Turn its channel round, or have the start check demand the position in which it is off.");
            continue;
        }
        let arm = signals.asks().map(|asks| ("arm".into(), asks));
        let others = modes.iter().filter(|seen| !std::ptr::eq(*seen, enable));
        let others: Vec<_> = others.map(|seen| (seen.mode.name.value.clone(), seen.on.clone())).chain(arm).collect();
        for control in signals.switches() {
            let Some(Answer::Yes(witness)) = out.ask(signals, &starts(&enable.on, control), enable.place) else {
                continue;
            };
            let mut others = others.iter();
            let other = others.find(|(_, on)| out.decide(signals, &starts(on, control), enable.place) == Some(true));
            let Some((other, _)) = other else { continue };
            let facts = [numbers(), name("control", signals.name(control)), mode(), name("other", other.clone())];
            let sentence =
                "{control} turns on mode {mode}, which allows arming, and mode {other} too: it is no second thought.";
            out.find(enable.place, "shared", sentence, facts)
                .severity(Severity::Caution)
                .shown_by(signals.witness(&witness.path_then(0)))
                .mend_words("Give the mode a switch that does nothing else.");
            break;
        }
    }
}

/// Does a movement of a control start a mode?
fn starts(on: &Condition, control: ControlId) -> Question {
    Question::is(Condition::Not(Box::new(on.clone()))).then(Movers::These(vec![control]), on.clone())
}
