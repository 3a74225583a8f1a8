//! `throttle/other-control`: the stick is at its lowest, and another control lifts a motor above idle.

use super::{lowest, motors};
use crate::findings::Severity;
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::{Setup, float};
use crate::signal::{Answer, Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for motor in motors(setup).into_iter().filter(|motor| !motor.reversible) {
        let (Some(idles), Some(runs), Some(idle), Some(signals)) =
            (motor.idles(), motor.runs(), motor.idle, setup.signals())
        else {
            continue;
        };
        let place = setup.in_model(motor.channel.header);
        // A line that is meant as a cut and fails has a rule of its own.
        let mut all = vec![runs];
        for (at, _, _) in motor.failing_cuts(setup) {
            if let Some(here) = motor.line(signals, at) {
                all.push(Condition::Not(Box::new(here)));
            }
        }
        let Some(question) = lowest(signals, Question::is(Condition::All(all)), false) else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        // Where no position idles, the channel itself is too high.
        let Some(still) = lowest(signals, Question::is(idles.clone()), false) else { continue };
        if out.decide(signals, &still, place) != Some(true) {
            continue;
        }
        let reading = signals.program().play(&witness.path);
        let Some(pulse) = reading.channel(motor.number()).and_then(|seen| seen.received.as_ref()) else { continue };
        let checked = super::is_checked_helicopter(setup);
        // Where only the cut idles, the other control is the switch that lets it go.
        let without = motor.cut(setup, signals).and_then(|cut| {
            let here = Condition::All(vec![idles, Condition::Not(Box::new(cut))]);
            lowest(signals, Question::is(here), false)
        });
        let only_cut = without.is_some_and(|question| out.decide(signals, &question, place) == Some(false));
        let (number, pulse) = (motor.number(), us(float(pulse)));
        let message = match only_cut {
            true => format!(
                "With the throttle stick at its lowest and the cut let go, channel {number} reads {pulse}; idle is below {idle} us."
            ),
            false => format!(
                "With the throttle stick at its lowest, another control lifts channel {number} to {pulse}; idle is below {idle} us."
            ),
        };
        out.find(place, message)
            .severity(if checked { Severity::Caution } else { Severity::Danger })
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "what counts as idle");
    }
}
