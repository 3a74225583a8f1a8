//! `modes/ground-only`: a mode for the ground, or one that stops the motors, shares its control with a mode of flight.

use super::modes;
use crate::findings::fact::{channels, name};
use crate::fleet::craft::Mode;
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, ControlId, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let modes = modes(setup, signals);
    for ground in modes.iter().filter(|seen| is_for_the_ground(seen.mode)) {
        for control in signals.switches() {
            let Some(Answer::Yes(witness)) = out.ask(signals, &starts(&ground.on, control), ground.place) else {
                continue;
            };
            let mut flight = modes.iter().filter(|seen| is_of_flight(seen.mode));
            let other = flight.find(|seen| out.decide(signals, &starts(&seen.on, control), ground.place) == Some(true));
            let Some(other) = other else { continue };
            let facts = [
                channels("channels", ground.mode.channels()),
                name("control", signals.name(control)),
                name("mode", ground.mode.name.value.clone()),
                name("other", other.mode.name.value.clone()),
            ];
            let sentence =
                "{control} turns mode {mode} on, and it also flies mode {other}: one step too far is enough.";
            out.find(ground.place, "shared", sentence, facts)
                .shown_by(signals.witness(&witness.path_then(0)))
                .other(setup.in_craft(ground.mode.span), "not for the air")
                .other(setup.in_craft(other.mode.span), "a mode of flight");
            break;
        }
    }
}

/// Does a movement of a control start a mode?
fn starts(on: &Condition, control: ControlId) -> Question {
    Question::is(Condition::Not(Box::new(on.clone()))).then(Movers::These(vec![control]), on.clone())
}

fn is_for_the_ground(mode: &Mode) -> bool {
    matches!(mode.kind.map(|kind| kind.value), Some(ModeKind::OnGround | ModeKind::Stop))
}

fn is_of_flight(mode: &Mode) -> bool {
    matches!(mode.kind.map(|kind| kind.value), None | Some(ModeKind::Return | ModeKind::Land))
}
