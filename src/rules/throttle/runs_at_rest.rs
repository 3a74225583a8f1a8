//! `throttle/runs-at-rest`: a control that springs back rests where a motor runs.

use crate::findings::fact::{Fact, channel, idles as idle_is, name, us};
use crate::rules::out::Out;
use crate::setup::{Motor, Setup, Signals, handset_of};
use crate::signal::{Answer, Question};
use crate::source::Place;

const OWN: &str = "{control} springs back to where channel {channel} gets {sent}, and idle is {idle}: whenever it is let go, the motor runs.";
const PUPIL: &str = "The throttle stick of {pupil} springs to its centre, where channel {channel} gets {sent}, and idle is {idle}: at the hand-over the motor runs.";

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup) {
        for found in setup.run_at_rest(signals, motor) {
            let control = name("control", signals.name(found.control));
            state(signals, out, motor, (setup.in_model(motor.channel.header), "own", OWN), control, &found.question);
        }
    }
    let Some(trainer) = &setup.model.trainer else { return };
    let (Some((when, functions)), Some(from)) = (&trainer.hand_over, &trainer.from) else { return };
    let pupil = setup.context.fleet.model(&from.value).and_then(|pupil| handset_of(setup.context.fleet, pupil));
    let gives = functions.iter().any(|function| function.value == "throttle");
    let Some(pupil) = pupil.filter(|_| gives) else { return };
    let place = setup.in_model(trainer.span);
    let Some(when) = out.condition(signals, when, place) else { return };
    for motor in out.motors(setup) {
        if let Some(question) = setup.runs_for_pupil(signals, motor, pupil, &when) {
            let pupil = name("pupil", pupil.head.name.value.clone());
            state(signals, out, motor, (place, "pupil", PUPIL), pupil, &question);
        }
    }
}

fn state(
    signals: &Signals,
    out: &mut Out<'_>,
    motor: &Motor<'_>,
    (place, key, sentence): (Place, &'static str, &str),
    who: Fact,
    question: &Question,
) {
    let Some(Answer::Yes(witness)) = out.ask(signals, question, place) else { return };
    let (Some(pulse), Some(idle)) = (motor.pulse(signals, &witness.path), motor.idle) else { return };
    let facts = [who, channel(motor.number()), us("sent", &pulse), idle_is("idle", idle)];
    out.find(place, key, sentence, facts)
        .shown_by(signals.witness(&witness.path))
        .other(motor.place, "what counts as idle")
        .mend_words(
            "Let the motor stand still where the control rests, with all of its range on one side of that, or use a stick that stays where it is put.",
        );
}
