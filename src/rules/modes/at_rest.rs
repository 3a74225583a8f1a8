//! `modes/at-rest`: a mode that flies home, lands or stops the motors is on before anybody moves a switch.

use super::modes;
use crate::findings::fact::{channels, name};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Condition, Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let start = Path::at(signals.start(&setup.demands(signals)));
    let demanded = !setup.model.before_start.is_empty();
    for seen in modes(setup, signals) {
        let ends =
            matches!(seen.mode.kind.map(|kind| kind.value), Some(ModeKind::Return | ModeKind::Land | ModeKind::Stop));
        if !ends || signals.program().holds(&start, &seen.on) != Some(true) {
            continue;
        }
        // One that nothing ever ends has a rule of its own.
        let off = Question::is(Condition::Not(Box::new(seen.on.clone())));
        if out.decide(signals, &off, seen.place) != Some(true) {
            continue;
        }
        let facts = [
            channels("channels", seen.mode.tests().map(|test| test.channel.value)),
            name("mode", seen.mode.name.value.clone()),
        ];
        let (key, sentence) = match demanded {
            true => ("as demanded", "With the controls as the start check demands them, mode {mode} is already on."),
            false => ("at rest", "With every control at rest, mode {mode} is already on."),
        };
        out.find(seen.place, key, sentence, facts)
            .shown_by(signals.witness(&start))
            .other(setup.in_craft(seen.mode.span), "the mode")
            .mend_words(
                "Turn the channel round, or have the start check demand the position in which the mode is off.",
            );
    }
}
