//! `throttle/not-monotonic`: the throttle falls somewhere while its stick rises.

use super::running;
use crate::findings::Severity;
use crate::findings::fact::{channel, percent, us, word};
use crate::findings::hands::called;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals};
use crate::signal::Path;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    turned(setup, signals, out);
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

/// A motor that runs both ways, and the wrong one.
fn turned(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup).iter().filter(|motor| motor.reversible && motor.full_stated) {
        let place = setup.in_model(motor.channel.header);
        let mut paths = running(out, signals, motor, None, place, centred);
        if paths.is_empty() {
            // What is driven with a stick that springs to its centre runs only off it.
            paths = running(out, signals, motor, None, place, |_, question| question);
        }
        // Where only some position turns it round, `surfaces/reversed-in-position` tells of it.
        let turned: Option<Vec<_>> = paths.iter().map(|path| motor.turned(setup, signals, path)).collect();
        let Some((stick, way)) = turned.and_then(|all| all.into_iter().next()) else { continue };
        let facts = [
            channel(motor.number()),
            word("stick", called(setup.hands().grip, stick)),
            us("from", &way.before.1),
            us("to", &way.after.1),
            percent("low", way.before.0),
            percent("high", way.after.0),
        ];
        let sentence = "With the {stick} at {high} channel {channel} gets {to}, and with it at {low} {from}: ahead and backwards are turned round.";
        let finding = out.find(place, "turned", sentence, facts);
        finding.severity(Severity::Danger).case("turned").shown_by(signals.witness(&way.path));
        finding.other(motor.place, "where its full power ahead begins").mend_words(
            "Turn the sign of the stick in the channel's value. If the motor itself is wired the other way round, correct what is stated of it.",
        );
    }
}
