//! `throttle/hidden-high`: the cut hides a high stick while the model asks to arm.

use crate::findings::Severity;
use crate::findings::fact::{channel, word};
use crate::findings::hands::called;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(request) = setup.arming(signals) else { return };
    let place = request.place;
    for motor in out.motors(setup) {
        let Some(cut) = motor.cut(signals) else { continue };
        let Some(arming) = out.arming_controls(signals, place) else { return };
        let not = |condition: &Condition| Condition::Not(Box::new(condition.clone()));
        let high = not(&signals.throttle_low());
        let reach = Condition::All(vec![request.asks.clone(), high.clone(), cut.clone()]);
        let question = Question::is(request.quiet.clone()).then(Movers::These(arming.to_vec()), reach);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        // Does the release of the cut need a low stick?
        let release = Question::is(Condition::All(vec![cut.clone(), high.clone()]))
            .then(Movers::SwitchesAndButtons, Condition::All(vec![not(&cut), high]));
        let (key, severity, sentence) = match out.ask(signals, &release, place) {
            Some(Answer::Yes(_)) => (
                "starts",
                Severity::Danger,
                "The model asks to arm with the {stick} up, while the cut keeps channel {channel} idle: the controller sees a low throttle, and letting the cut go starts the motor at whatever the stick says.",
            ),
            Some(_) => (
                "waits",
                Severity::Caution,
                "The model asks to arm with the {stick} up, while the cut keeps channel {channel} idle: the controller sees a low throttle, though the cut itself waits for a low stick.",
            ),
            None => continue,
        };
        out.find(
            place,
            key,
            sentence,
            [channel(motor.number()), word("stick", called(setup.hands().grip, Stick::Throttle))],
        )
        .severity(severity)
        .shown_by(signals.witness(&witness.path_then(0)))
        .other(setup.in_model(motor.channel.header), "the throttle with its cut");
    }
}
