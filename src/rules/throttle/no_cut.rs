//! `throttle/no-cut`: no position of any switch keeps the motors idle over the whole way of the stick.

use super::latched;
use crate::findings::fact::channels;
use crate::rules::out::{Out, choice};
use crate::setup::{Setup, Signals};
use crate::signal::{Condition, Handle, Kept, Measure, Question, Setting, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let motors = out.motors(setup);
    let Some(first) = motors.first() else { return };
    if motors.iter().any(|motor| motor.idle.is_none() || motor.reversible) {
        return;
    }
    // A line that is meant as a cut and fails has a rule of its own.
    if motors.iter().any(|motor| motor.failing_cuts().next().is_some()) {
        return;
    }
    let place = setup.in_model(first.channel.header);
    let cuts: Vec<Option<Condition>> = motors.iter().map(|motor| motor.cut(signals)).collect();
    // A cut of one motor that leaves another live has a rule of its own.
    if cuts.iter().any(Option::is_some) && cuts.iter().any(Option::is_none) {
        return;
    }
    if let Some(all) = cuts.into_iter().collect::<Option<Vec<_>>>()
        && out.decide(signals, &Question::is(Condition::All(all)), place) != Some(false)
    {
        return;
    }
    for control in signals.switches() {
        for position in 0..signals.positions(control) {
            let fixed = vec![(Handle::Control(control), Kept::At(Setting::Position(position)))];
            let within = Within { fixed, ..Within::default() };
            let idles = motors.iter().all(|motor| {
                let range = out.range(signals, motor.number(), Measure::Received, &within, place);
                range.is_some_and(|range| motor.idles_throughout(&range))
            });
            if idles {
                return;
            }
        }
    }
    let running = first.channel.lines.first().filter(|line| line.when.is_none()).map(|line| line.value.to_string());
    let choices = running.filter(|_| motors.len() == 1).map_or_else(Vec::new, |running| {
        let choices = setup.spare_switches().into_iter().map(|name| {
            let edits = latched(setup, first.channel, name, "up", "down", &running);
            choice(format!("put a cut on \"{name}\" that lets go only with a low stick"), edits)
        });
        choices.collect()
    });
    let facts = [channels("channels", motors.iter().map(|motor| motor.number()))];
    let sentence = "No position of any switch keeps the motor on channel {channels} idle while the stick moves.";
    out.find(place, "no cut", sentence, facts)
        .reaches("in every position of every switch the stick starts the motor")
        .mend_choices("Put a throttle cut on a switch of its own.", choices);
}
