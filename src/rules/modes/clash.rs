//! `modes/clash`: two modes are on together, though one excludes the other.

use super::modes;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let controller = setup.craft.controller.as_ref();
    if controller.is_none_or(|controller| controller.modes.iter().all(|mode| mode.excludes.is_none())) {
        return;
    }
    let Some((signals, modes)) = modes(setup) else { return };
    for (mode, on, place) in &modes {
        let Some(excluded) = &mode.excludes else { continue };
        let Some(other) = signals.mode(&excluded.value) else { continue };
        let question = Question::is(Condition::All(vec![on.clone(), other]));
        if let Some(Answer::Yes(witness)) = out.ask(signals, &question, *place) {
            let (first, second) = (&mode.name.value, &excluded.value);
            let message =
                format!("Modes \"{first}\" and \"{second}\" can be on together, though the first excludes the second.");
            out.find(*place, message)
                .shown_by(signals.witness(&witness.path))
                .other(setup.in_craft(excluded.span), "excluded here");
        }
    }
}
