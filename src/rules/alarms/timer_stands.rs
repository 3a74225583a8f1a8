//! `alarms/timer-stands`: a timer stands still while the motor runs.

use crate::findings::fact::{channel, us};
use crate::fleet::Dimension;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::in_flight;
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(signals) = setup.signals() else { return };
    if out.motors(setup).is_empty() {
        return;
    }
    let share = out.parameter("share", Dimension::Percent);
    let mut standing = Vec::new();
    for timer in &setup.model.timers {
        let Some(when) = &timer.when else {
            // One that always runs warns in time, unless it is longer than the battery lasts.
            match setup.outlasts(timer) {
                true => continue,
                false => return,
            }
        };
        // One that hangs on nothing of the aircraft is started by hand.
        if !setup.is_of_the_aircraft(signals, when) {
            continue;
        }
        let place = setup.in_model(timer.span);
        let Some(runs) = out.condition(signals, when, place) else { return };
        // One that never runs has a rule of its own.
        if out.decide(signals, &Question::is(runs.clone()), place) != Some(true) {
            continue;
        }
        let Some(question) = setup.runs_without(signals, &runs, share) else { return };
        let stands = match out.ask(signals, &question, place) {
            Some(Answer::Yes(witness)) => Some(witness.path),
            _ => None,
        };
        match stands {
            Some(path) => standing.push((timer, when, path)),
            // Where one runs whenever the motor does, another may count something else.
            None => return,
        }
    }
    for (timer, when, path) in standing {
        let Some(motor) = setup.motors().first() else { continue };
        let Some(pulse) = motor.pulse(signals, &path) else { continue };
        let flight = in_flight(setup).filter(|flight| *flight != when.to_string()).map(|flight| {
            let edit = replace(&setup.model.head, when.span, flight.clone());
            choice(format!("let it run while {flight}"), vec![edit])
        });
        let sentence = "The motor on channel {channel} runs with {sent}, and this timer stands still: it does not tell how long the battery was used.";
        out.find(setup.in_model(timer.span), "stands", sentence, [channel(motor.number()), us("sent", &pulse)])
            .shown_by(signals.witness(&path))
            .mend_choices("Change the condition to one that holds while the motor runs.", flight.into_iter().collect());
    }
}
