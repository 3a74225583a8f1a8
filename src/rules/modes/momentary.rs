//! `modes/momentary`: a mode that flies home or stops the motors ends when the finger leaves its control.

use super::modes;
use crate::findings::fact::{channels, name, text};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Question, Setting};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for seen in modes(setup, signals) {
        if !matches!(seen.mode.kind.map(|kind| kind.value), Some(ModeKind::Return | ModeKind::Stop)) {
            continue;
        }
        for control in signals.switches() {
            let Some(rest) = setup.springs_to(signals.name(control)) else { continue };
            let ends = Condition::Not(Box::new(seen.on.clone()));
            let question = Question::is(seen.on.clone()).then_to(control, Setting::Position(rest), ends);
            let Some(Answer::Yes(witness)) = out.ask(signals, &question, seen.place) else { continue };
            let facts = [
                channels("channels", seen.mode.tests().map(|test| test.channel.value)),
                name("control", signals.name(control)),
                name("mode", seen.mode.name.value.clone()),
                text("rest", signals.position_name(control, rest)),
            ];
            let sentence = "{control} springs back to {rest}, and that ends mode {mode}.";
            out.find(seen.place, "ends", sentence, facts)
                .shown_by(signals.witness(&witness.path_then(0)))
                .other(setup.in_craft(seen.mode.span), "the mode")
                .mend_words(
                    "Put the mode on a switch that stays, or on a latch or a toggle that the control turns on.",
                );
        }
    }
}
