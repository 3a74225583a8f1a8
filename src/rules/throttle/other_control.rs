//! `throttle/other-control`: the stick is at its lowest, and another control lifts a motor above idle.

use crate::findings::Severity;
use crate::findings::fact::{channel, us};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals, is_checked_helicopter, lowest};
use crate::signal::{Answer, Condition, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup).iter().filter(|motor| !motor.reversible) {
        let (Some(idles), Some(runs), Some(idle)) = (motor.idles(), motor.runs(), motor.idle) else { continue };
        let place = setup.in_model(motor.channel.header);
        // A line that is meant as a cut and fails has a rule of its own.
        let mut all = vec![runs];
        for failing in motor.failing_cuts() {
            all.extend(motor.line(signals, failing.at).map(|here| Condition::Not(Box::new(here))));
        }
        let Some(question) = lowest(signals, Question::is(Condition::All(all)), false) else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        // Where no position idles, the channel itself is too high.
        let Some(still) = lowest(signals, Question::is(idles.clone()), false) else { continue };
        if out.decide(signals, &still, place) != Some(true) {
            continue;
        }
        let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
        // Where only the cut idles, the other control is the switch that lets it go.
        let without = motor.cut(signals).and_then(|cut| {
            let here = Condition::All(vec![idles, Condition::Not(Box::new(cut))]);
            lowest(signals, Question::is(here), false)
        });
        let only_cut = without.is_some_and(|question| out.decide(signals, &question, place) == Some(false));
        let facts = [channel(motor.number()), us("reads", &pulse), us("idle", idle)];
        let (key, sentence) = match only_cut {
            true => (
                "cut let go",
                "With the throttle stick at its lowest and the cut let go, channel {channel} reads {reads}; idle is below {idle}.",
            ),
            false => (
                "another control",
                "With the throttle stick at its lowest, another control lifts channel {channel} to {reads}; idle is below {idle}.",
            ),
        };
        out.find(place, key, sentence, facts)
            .severity(if is_checked_helicopter(setup) { Severity::Caution } else { Severity::Danger })
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "what counts as idle");
    }
}
