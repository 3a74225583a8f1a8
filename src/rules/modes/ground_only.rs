//! `modes/ground-only`: a mode for the ground, or one that stops the motors, shares its control with a mode of flight.

use super::modes;
use crate::fleet::words::ModeKind;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let ground = |kind: Option<ModeKind>| matches!(kind, Some(ModeKind::GroundOnly | ModeKind::Stop));
    let controller = setup.craft.controller.as_ref();
    if controller.is_none_or(|controller| !controller.modes.iter().any(|mode| ground(mode.kind.map(|kind| kind.value))))
    {
        return;
    }
    let Some((signals, modes)) = modes(setup) else { return };
    let flies = |kind: Option<ModeKind>| matches!(kind, None | Some(ModeKind::Return | ModeKind::Land));
    for (mode, on, place) in modes.iter().filter(|(mode, ..)| ground(mode.kind.map(|kind| kind.value))) {
        for control in signals.switches() {
            let starts = |on: &Condition| {
                Question::is(Condition::Not(Box::new(on.clone()))).then(Movers::These(vec![control]), on.clone())
            };
            let Some(Answer::Yes(witness)) = out.ask(signals, &starts(on), *place) else { continue };
            let flight = modes.iter().filter(|(other, ..)| flies(other.kind.map(|kind| kind.value)));
            let shared = flight
                .filter(|(_, other, _)| out.decide(signals, &starts(other), *place) == Some(true))
                .map(|(other, ..)| other)
                .next();
            let Some(other) = shared else { continue };
            let message = format!(
                "\"{}\" turns mode \"{}\" on, and it also flies mode \"{}\": one step too far is enough.",
                signals.name(control),
                mode.name.value,
                other.name.value
            );
            out.find(*place, message)
                .shown_by(signals.witness(&witness.path_then(0)))
                .other(setup.in_craft(mode.span), "not for the air")
                .other(setup.in_craft(other.span), "a mode of flight");
            break;
        }
    }
}
