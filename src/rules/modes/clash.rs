//! `modes/clash`: two modes are on together, though one excludes the other.

use super::modes;
use crate::findings::fact::{channels, name};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for seen in modes(setup, signals) {
        let Some(excluded) = &seen.mode.excludes else { continue };
        let Some(other) = signals.mode(&excluded.value) else { continue };
        let question = Question::is(Condition::All(vec![seen.on, other]));
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, seen.place) else { continue };
        let facts = [
            channels("channels", seen.mode.channels()),
            name("mode", seen.mode.name.value.clone()),
            name("other", excluded.value.clone()),
        ];
        let sentence = "Modes {mode} and {other} can be on together, though the first excludes the second.";
        out.find(seen.place, "together", sentence, facts)
            .shown_by(signals.witness(&witness.path))
            .other(setup.in_craft(excluded.span), "excluded here");
    }
}
