//! `throttle/with-throttle`: arming starts the motors at once, because the throttle is up.

use super::{hangs_on, motors, names};
use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(channel) = setup.arm_channels().first().copied() else { return };
    let any_throttle = setup.craft.controller.as_ref().and_then(|controller| controller.arm_any_throttle);
    let any_throttle = any_throttle.filter(|stated| stated.value);
    for motor in motors(setup) {
        // The constant lines matter only where an arming control decides on them.
        let lines: Vec<_> = motor.constants().collect();
        if any_throttle.is_none() && lines.is_empty() {
            continue;
        }
        let (Some(runs), Some(signals)) = (motor.runs(), setup.signals()) else { continue };
        let Some(asks) = signals.asks() else { continue };
        let place = setup.channel_place(channel);
        let Some(arming) = out.arming_controls(signals, place) else { return };
        let arming_names = names(signals, arming);
        let whens = || motor.channel.lines.iter().filter_map(|line| line.when.as_ref());
        let gated =
            !lines.is_empty() && arming_names.iter().any(|name| whens().any(|when| hangs_on(setup, when, name)));
        let severity = match (any_throttle.is_some(), gated) {
            (true, _) => Severity::Danger,
            (false, true) => Severity::Caution,
            (false, false) => continue,
        };
        let reach = Condition::All(vec![asks.clone(), runs]);
        let question = Question::is(Condition::Not(Box::new(asks))).then(Movers::These(arming.to_vec()), reach);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let message = match severity {
            Severity::Danger => {
                "One movement asks to arm with the throttle up, and this controller arms with any throttle: the motors start at once."
            }
            _ => "The movement that asks to arm also ends the throttle cut, and the throttle need not be idle then.",
        };
        let finding = out.find(place, message);
        finding.severity(severity).shown_by(signals.witness(&witness.path_then(0)));
        finding.other(setup.in_model(motor.channel.header), "the throttle");
        if let Some(stated) = any_throttle {
            finding.other(setup.in_craft(stated.span), "it arms with any throttle");
        }
    }
}
