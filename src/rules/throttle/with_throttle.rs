//! `throttle/with-throttle`: arming starts the motors at once, because the throttle is up.

use crate::findings::Severity;
use crate::findings::fact::{channel, channel_as};
use crate::rules::out::Out;
use crate::setup::terms::hangs_on;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(request) = setup.arming(signals) else { return };
    let any_throttle = setup.craft.controller.as_ref().and_then(|controller| controller.arm_any_throttle);
    let any_throttle = any_throttle.filter(|stated| stated.value);
    for motor in out.motors(setup) {
        // The constant lines matter only where an arming control decides on them.
        let constants = !motor.constants.is_empty();
        if any_throttle.is_none() && !constants {
            continue;
        }
        let Some(runs) = motor.runs() else { continue };
        let Some(arming) = out.arming_controls(signals, request.place) else { return };
        let gates = |name| {
            let mut whens = motor.channel.lines.iter().filter_map(|line| line.when.as_ref());
            whens.any(|when| hangs_on(setup.model, when, name))
        };
        let gated = constants && arming.iter().any(|&control| gates(signals.name(control)));
        let (key, severity, sentence) = match (any_throttle.is_some(), gated) {
            (true, _) => (
                "any throttle",
                Severity::Danger,
                "One movement asks to arm with the throttle up, and this controller arms with any throttle: the motors start at once.",
            ),
            (false, true) => (
                "ends the cut",
                Severity::Caution,
                "The movement that asks to arm also ends the throttle cut, and the throttle need not be idle then.",
            ),
            (false, false) => continue,
        };
        let reach = Condition::All(vec![request.asks.clone(), runs]);
        let question = Question::is(request.quiet.clone()).then(Movers::These(arming.to_vec()), reach);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, request.place) else { continue };
        let facts = [channel_as("arming_channel", request.channel), channel(motor.number())];
        let finding = out.find(request.place, key, sentence, facts);
        finding.severity(severity).shown_by(signals.witness(&witness.path_then(0)));
        finding.other(setup.in_model(motor.channel.header), "the throttle");
        if let Some(stated) = any_throttle {
            finding.other(setup.in_craft(stated.span), "it arms with any throttle");
        }
    }
}
