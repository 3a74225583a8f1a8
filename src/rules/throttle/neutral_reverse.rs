//! `throttle/neutral-reverse`: the lowest stick is full reverse, not neutral.

use crate::findings::fact::{channel, us};
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals, lowest};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup).iter().filter(|motor| motor.reversible) {
        let Some(reverse) = motor.backwards(setup.handset) else { return };
        let Some(question) = lowest(signals, Question::is(reverse), false) else { continue };
        // A motor that follows one of the other sticks stands still at the start.
        let question = centred(signals, question);
        let place = setup.in_model(motor.channel.header);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
        let facts = [channel(motor.number()), us("sent", &pulse)];
        let sentence = "The motor on channel {channel} can run backwards, and the lowest stick sends {sent}: reverse, not standstill.";
        out.find(place, "reverse", sentence, facts)
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "a motor that can run backwards");
    }
}
