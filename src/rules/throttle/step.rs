//! `throttle/step`: the throttle jumps for a small movement of its stick.

use super::running;
use crate::findings::fact::{channel, percent, us, word};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    for motor in out.motors(setup).iter().filter(|motor| motor.idle.is_some() && motor.may_step(setup)) {
        let place = setup.in_model(motor.channel.header);
        let paths = running(out, signals, motor, None, place, centred);
        let Some(step) = paths.iter().find_map(|path| motor.steps(setup, signals, path, share)) else { continue };
        let facts = [
            channel(motor.number()),
            word("stick", called(setup.hands().grip, Stick::Throttle)),
            us("from", &step.before.1),
            us("to", &step.after.1),
            percent("low", step.before.0),
            percent("high", step.after.0),
        ];
        let sentence = "Channel {channel} jumps from {from} to {to} while the {stick} goes from {low} to {high}.";
        out.find(place, "jumps", sentence, facts).shown_by(signals.witness(&step.path));
    }
}
