//! `modes/stuck`: a mode is on in every state.

use super::{Seen, modes};
use crate::findings::fact::{channels, name};
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    // One that allows arming is a danger then, of which modes/enable speaks.
    let enables = |seen: &Seen<'_>| seen.mode.kind.is_some_and(|kind| kind.value == ModeKind::Enable);
    for seen in modes(setup, signals).into_iter().filter(|seen| !enables(seen)) {
        let off = Question::is(Condition::Not(Box::new(seen.on)));
        if out.decide(signals, &off, seen.place) == Some(false) {
            let facts = [channels("channels", seen.mode.channels()), name("mode", seen.mode.name.value.clone())];
            out.find(seen.place, "stuck", "Mode {mode} is on in every position of every control.", facts)
                .other(setup.in_craft(seen.mode.span), "the range that is always reached")
                .reaches("the mode is on in every state that can occur");
        }
    }
}
