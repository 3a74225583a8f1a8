//! `throttle/not-monotonic`: the throttle falls somewhere while its stick rises.

use super::running;
use crate::findings::fact::{channel, percent, us, word};
use crate::findings::hands::called;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals};
use crate::signal::Path;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup).iter().filter(|motor| !motor.only_rises(setup)) {
        if motor.idle.is_none() {
            continue;
        }
        let place = setup.in_model(motor.channel.header);
        // A helicopter's curves are shaped on purpose, but not where it rests.
        let paths = match setup.is(CraftKind::Helicopter) {
            true => vec![Path::at(signals.start(&setup.demands(signals)))],
            false => running(out, signals, motor, None, place, centred),
        };
        let Some(falls) = paths.iter().find_map(|path| motor.falls(signals, path)) else { continue };
        let facts = [
            channel(motor.number()),
            word("stick", called(setup.hands().grip, Stick::Throttle)),
            us("from", &falls.before.1),
            us("to", &falls.after.1),
            percent("low", falls.before.0),
            percent("high", falls.after.0),
        ];
        let sentence = "Channel {channel} goes back from {from} to {to} while the {stick} rises from {low} to {high}.";
        out.find(place, "falls", sentence, facts).shown_by(signals.witness(&falls.path));
    }
}
