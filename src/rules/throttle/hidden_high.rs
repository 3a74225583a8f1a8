//! `throttle/hidden-high`: the cut hides a high stick while the model asks to arm.

use super::motors;
use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(channel) = setup.arm_channels().first().copied() else { return };
    for motor in motors(setup) {
        let Some(signals) = setup.signals() else { return };
        let (Some(cut), Some(asks)) = (motor.cut(setup, signals), signals.asks()) else { continue };
        let place = setup.channel_place(channel);
        let Some(arming) = out.arming_controls(signals, place) else { return };
        let not = |condition: &Condition| Condition::Not(Box::new(condition.clone()));
        let high = not(&signals.throttle_low());
        let reach = Condition::All(vec![asks.clone(), high.clone(), cut.clone()]);
        let question = Question::is(not(&asks)).then(Movers::These(arming.to_vec()), reach);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        // Does the release of the cut need a low stick?
        let release = Question::is(Condition::All(vec![cut.clone(), high.clone()]))
            .then(Movers::SwitchesAndButtons, Condition::All(vec![not(&cut), high]));
        let severity = match out.ask(signals, &release, place) {
            Some(Answer::Yes(_)) => Severity::Danger,
            Some(_) => Severity::Caution,
            None => continue,
        };
        let number = motor.channel.number.value;
        let then = match severity {
            Severity::Danger => "and letting the cut go starts the motor at whatever the stick says",
            _ => "though the cut itself waits for a low stick",
        };
        let message = format!(
            "The model asks to arm with the throttle stick up, while the cut keeps channel {number} idle: the controller sees a low throttle, {then}."
        );
        out.find(place, message)
            .severity(severity)
            .shown_by(signals.witness(&witness.path_then(0)))
            .other(setup.in_model(motor.channel.header), "the throttle with its cut");
    }
}
