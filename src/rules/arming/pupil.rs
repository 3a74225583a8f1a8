//! `arming/pupil`: the trainer hand-over gives the pupil what starts or stops the motors.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::channel;
use crate::fleet::condition::Name;
use crate::fleet::craft::Arm;
use crate::fleet::quoted;
use crate::fleet::table::Block;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Movers, Question};
use compact_str::format_compact;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(trainer) = &setup.model.trainer else { return };
    let Some((_, functions)) = &trainer.hand_over else { return };
    let place = setup.in_model(trainer.span);
    let given = |name: &Name| setup.handset.map_or_else(|| Stick::find(&name.value), |it| it.stick(&name.value));
    let gives = |stick: Stick| functions.iter().any(|name| given(name) == Some(stick));
    let by_sticks = setup.craft.controller.as_ref().and_then(|controller| controller.arm);
    if by_sticks.is_some_and(|arm| arm.value == Arm::Sticks) && (gives(Stick::Throttle) || gives(Stick::Yaw)) {
        let sentence = "This aircraft is armed by a position of the sticks, and the hand-over gives the pupil throttle or yaw: the pupil can start and stop the motors.";
        out.find(place, "armed by sticks", sentence, []).severity(Severity::Danger);
        return;
    }
    if let Some(arming) = setup.arming(signals) {
        let sticks: Vec<_> = functions.iter().filter_map(|name| signals.lowered().control(&name.value)).collect();
        let starts = Question::is(arming.quiet.clone()).then(Movers::These(sticks.clone()), arming.asks.clone());
        let stops = Question::is(arming.asks.clone()).then(Movers::These(sticks), arming.quiet.clone());
        for (question, key, sentence) in [
            (starts, "starts", "The hand-over gives the pupil a stick that can start the request to arm."),
            (stops, "stops", "The hand-over gives the pupil a stick that can stop the request to arm."),
        ] {
            if let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) {
                out.find(place, key, sentence, [channel(arming.channel)])
                    .severity(Severity::Danger)
                    .shown_by(signals.witness(&witness.path_then(0)));
                return;
            }
        }
    }
    // A lesson with the throttle is meant where it is said to be one: what is left is whether the pupil starts the motors.
    let lesson = setup.model.lesson.is_some_and(|lesson| lesson.value);
    if gives(Stick::Throttle) && !lesson {
        let sentence = "The hand-over gives the pupil the throttle.";
        out.find(place, "throttle", sentence, []).severity(Severity::Caution);
        return;
    }
    let by_switch = by_sticks.is_none_or(|arm| arm.value != Arm::Sticks);
    if by_switch && setup.craft.surfaces.is_none() && setup.arming(signals).is_none() {
        let within = format_compact!("craft {} {{ controller", quoted(&setup.craft.head.name.value));
        out.misses(Missing::Statement {
            block: Block::Controller, word: "mode", within, form: "arm channel … … us"
        });
    }
}
