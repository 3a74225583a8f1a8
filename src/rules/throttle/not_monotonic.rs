//! `throttle/not-monotonic`: the throttle falls somewhere while its stick rises.

use crate::findings::fact::{channel, percent, us};
use crate::fleet::words::CraftKind;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Path, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup).iter().filter(|motor| !motor.reversible && !motor.only_rises(setup)) {
        let Some(runs) = motor.runs() else { continue };
        let place = setup.in_model(motor.channel.header);
        // A helicopter's curves are shaped on purpose, but not where it rests.
        let path = match setup.is(CraftKind::Helicopter) {
            true => Path::at(signals.start(&setup.demands(signals))),
            false => match out.ask(signals, &Question::is(runs), place) {
                Some(Answer::Yes(witness)) => witness.path,
                _ => continue,
            },
        };
        let Some(falls) = motor.falls(signals, &path) else { continue };
        let facts = [
            channel(motor.number()),
            us("from", &falls.before.1),
            us("to", &falls.after.1),
            percent("low", falls.before.0),
            percent("high", falls.after.0),
        ];
        let sentence =
            "Channel {channel} falls from {from} to {to} while the throttle stick rises from {low} to {high}.";
        out.find(place, "falls", sentence, facts).shown_by(signals.witness(&falls.path));
    }
}
