//! `throttle/cut-needs-stick`: the cut of a running motor works only in some positions of the stick.

use crate::findings::fact::{channel, name, us};
use crate::rules::out::Out;
use crate::setup::terms::waits;
use crate::setup::{Setup, Signals};
use crate::signal::Answer;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    // A movement that is held for a while may stop it all the same.
    if waits(setup.model) {
        return;
    }
    for (at, motor) in out.motors(setup).iter().enumerate() {
        let place = setup.in_model(motor.channel.header);
        // A switch that always stops it is enough.
        let Some([]) = out.stops(setup, signals, at) else { continue };
        for (control, questions) in motor.not_stopped_by(setup.model, signals) {
            let witness = questions.iter().find_map(|question| match out.ask(signals, question, place) {
                Some(Answer::Yes(witness)) => Some(witness),
                _ => None,
            });
            let Some(witness) = witness else { continue };
            let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
            let facts = [channel(motor.number()), us("reads", &pulse), name("control", signals.name(control))];
            let sentence = "The motor on channel {channel} runs at {reads}, and no position of {control} stops it, though its cut hangs on that: the cut waits for the stick or for another switch.";
            out.find(place, "waits", sentence, facts).shown_by(signals.witness(&witness.path));
            break;
        }
    }
}
