//! `modes/stuck`: a mode is on in every state.

use super::modes;
use crate::rules::out::Out;
use crate::rules::subject::Pair;
use crate::signal::{Condition, Question};

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some((signals, modes)) = modes(pair) else { return };
    for (mode, on, place) in modes {
        if out.decide(signals, &Question::is(Condition::Not(Box::new(on))), place) == Some(false) {
            let message = format!("Mode \"{}\" is on in every position of every control.", mode.name.value);
            out.find(place, message)
                .other(pair.in_craft(mode.span), "the range that is always reached")
                .reaches("the mode is on in every reachable state");
        }
    }
}
