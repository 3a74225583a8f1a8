//! `modes/stuck`: a mode is on in every state.

use super::modes;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((signals, modes)) = modes(setup) else { return };
    for (mode, on, place) in modes {
        if out.decide(signals, &Question::is(Condition::Not(Box::new(on))), place) == Some(false) {
            let message = format!("Mode \"{}\" is on in every position of every control.", mode.name.value);
            out.find(place, message)
                .other(setup.in_craft(mode.span), "the range that is always reached")
                .reaches("the mode is on in every reachable state");
        }
    }
}
