//! `throttle/no-cut`: no position of any switch keeps the motors idle over the whole way of the stick.

use super::{latched, spring};
use crate::findings::fact::channels;
use crate::rules::out::{Out, choice};
use crate::setup::{Motor, Setup, Signals};
use crate::signal::Question;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let motors = out.motors(setup);
    // A line that is meant as a cut and fails has a rule of its own.
    if motors.iter().any(|motor| motor.idle.is_none() || motor.failing_cuts().next().is_some()) {
        return;
    }
    let mut live: Vec<&Motor<'_>> = Vec::new();
    let mut has_cut = false;
    for (at, motor) in motors.iter().enumerate() {
        let place = setup.in_model(motor.channel.header);
        let Some(stops) = out.stops(setup, signals, at) else { return };
        let cut = motor.cut(signals).map(|cut| out.decide(signals, &Question::is(cut), place));
        if !stops.is_empty() || cut.is_some_and(|cut| cut != Some(false)) {
            has_cut = true;
            continue;
        }
        // One that stands still as soon as the finger leaves it needs none.
        match setup.stands_still_at_rest(signals, motor) {
            Some(true) => {}
            Some(false) => live.push(motor),
            None => out.misses(spring()),
        }
    }
    // A cut of one motor that leaves another live has a rule of its own.
    let Some(first) = live.first().filter(|_| !has_cut) else { return };
    let place = setup.in_model(first.channel.header);
    let running = first.channel.lines.first().filter(|line| line.when.is_none()).map(|line| line.value.to_string());
    let plain = live.len() == 1 && !first.reversible && first.rises_with_pulse();
    let choices = running.filter(|_| plain).map_or_else(Vec::new, |running| {
        let choices = setup.spare_switches().into_iter().map(|name| {
            let edits = latched(setup, first.channel, name, "up", "down", &running);
            choice(format!("put a cut on \"{name}\" that lets go only with a low stick"), edits)
        });
        choices.collect()
    });
    let facts = [channels("channels", live.iter().map(|motor| motor.number()))];
    let sentence = "No position of any switch keeps the motor on channel {channels} idle while the stick moves.";
    out.find(place, "no cut", sentence, facts)
        .reaches("in every position of every switch the stick starts the motor")
        .mend_choices("Put a throttle cut on a switch of its own.", choices);
}
