//! `throttle/neutral-reverse`: the lowest stick is full reverse, not neutral.

use super::{lowest, motors};
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::signals::below;
use crate::setup::{Setup, float, number};
use crate::signal::{Answer, Condition, Function, Handle, Kept, Measure, Question, Setting, whole};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((centre, span)) = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value) else {
        return;
    };
    for motor in motors(setup).into_iter().filter(|motor| motor.reversible) {
        let Some(signals) = setup.signals() else { return };
        // More than a tenth of the way back from the middle is reverse (common practice, no source).
        let limit = number(centre) - number(span) / 10;
        let reverse = Condition::Channel(motor.number(), Measure::Received, below(limit));
        let Some(mut question) = lowest(signals, Question::is(reverse), false) else { continue };
        // The other sticks spring to their centres: a motor that follows one of them stands still at the start.
        for function in [Function::Roll, Function::Pitch, Function::Yaw] {
            if let Some(stick) = signals.stick(function) {
                for handle in [Handle::Control(stick), Handle::Trim(stick)] {
                    question = question.keeping(handle, Kept::At(Setting::Percent(whole(0))));
                }
            }
        }
        let place = setup.in_model(motor.channel.header);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let reading = signals.program().play(&witness.path);
        let Some(pulse) = reading.channel(motor.number()).and_then(|seen| seen.received.as_ref()) else { continue };
        let message = format!(
            "The motor on channel {} can run backwards, and the lowest stick sends {}: reverse, not standstill.",
            motor.number(),
            us(float(pulse))
        );
        out.find(place, message)
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "a motor that can run backwards");
    }
}
