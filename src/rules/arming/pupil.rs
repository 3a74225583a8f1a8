//! `arming/pupil`: the trainer hand-over gives the pupil what starts or stops the motors.

use super::arming;
use crate::findings::Severity;
use crate::fleet::craft::Arm;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::{Answer, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(trainer) = &setup.model.trainer else { return };
    let Some((_, functions)) = &trainer.hand_over else { return };
    let place = setup.in_model(trainer.span);
    let gives = |name: &str| functions.iter().any(|function| function.value == name);
    let by_sticks = setup.craft.controller.as_ref().and_then(|controller| controller.arm);
    if by_sticks.is_some_and(|arm| arm.value == Arm::Sticks) && (gives("throttle") || gives("yaw")) {
        let message = "This aircraft is armed by a position of the sticks, and the hand-over gives the pupil throttle or yaw: the pupil can start and stop the motors.";
        out.find(place, message).severity(Severity::Danger);
        return;
    }
    if let Some(arming) = arming(setup) {
        let sticks: Vec<_> =
            functions.iter().filter_map(|name| arming.signals.lowered().control(&name.value)).collect();
        let starts = Question::is(arming.quiet.clone()).then(Movers::These(sticks.clone()), arming.asks.clone());
        let stops = Question::is(arming.asks.clone()).then(Movers::These(sticks), arming.quiet.clone());
        for (question, what) in [(starts, "start"), (stops, "stop")] {
            if let Some(Answer::Yes(witness)) = out.ask(arming.signals, &question, place) {
                let seen = arming.signals.witness(&witness.path_then(0));
                let message = format!("The hand-over gives the pupil a stick that can {what} the request to arm.");
                out.find(place, message).severity(Severity::Danger).shown_by(seen);
                return;
            }
        }
    }
    if gives("throttle") {
        out.find(place, "The hand-over gives the pupil the throttle.").severity(Severity::Caution);
    }
}
