//! `alarms/timer-never`: a timer that can never start.

use crate::findings::fact::{channel, channels, fill, us};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::in_flight;
use crate::setup::terms::channels_tested;
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // A handset's timer knows nothing of links.
    let Some(signals) = setup.signals() else { return };
    for timer in &setup.model.timers {
        let Some(when) = &timer.when else { continue };
        let place = setup.in_model(timer.span);
        let Some(condition) = out.condition(signals, when, place) else { continue };
        if out.decide(signals, &Question::is(condition), place) != Some(false) {
            continue;
        }
        let tested = channels_tested(when);
        let reached = tested.iter().filter_map(|&number| {
            let range = out.range(signals, number, Measure::Sent, &Within::default(), place)?;
            let Reach::Range(range) = range else { return None };
            let facts = [channel(number), us("low", range.low), us("high", range.high)];
            Some(fill("channel {channel} is sent at {low} to {high}", &facts))
        });
        let reached: Vec<String> = reached.collect();
        let flight = in_flight(setup).filter(|flight| *flight != when.to_string()).map(|flight| {
            let edit = replace(&setup.model.head, when.span, flight.clone());
            choice(format!("let it run while {flight}"), vec![edit])
        });
        let sentence = "No position of any control makes the timer run.";
        let finding = out.find(place, "never", sentence, [channels("channels", tested)]);
        if !reached.is_empty() {
            finding.reaches(reached.join("; "));
        }
        finding.mend_choices("Change the condition to one that holds in flight.", flight.into_iter().collect());
    }
}
