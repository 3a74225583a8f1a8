//! `surfaces/two-jobs`: one control has two jobs that belong apart.

use crate::findings::Severity;
use crate::findings::fact::{channel, channel_as, name, text};
use crate::rules::out::Out;
use crate::setup::surfaces::positions::{Job, two_jobs};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    for found in two_jobs(setup, surfaces, signals, signals.answers(surfaces)) {
        let [(first, one), (second, other)] = found.jobs;
        let Some(known) = out.channel(setup, other) else { continue };
        let facts = [
            name("control", signals.name(found.control)),
            text("first", word(first)),
            text("second", word(second)),
            channel_as("first_channel", one),
            channel(other),
        ];
        let sentence = "{control} moves {first} (channel {first_channel}) and also {second} (channel {channel}): you can't have one without the other.";
        out.find(setup.in_model(known.header), "two", sentence, facts)
            .severity(if found.is_grave() { Severity::Caution } else { Severity::Note })
            .case(if found.steers_the_winch() { "sheets" } else { "" })
            .other(setup.channel_place(one), "what it also moves");
    }
}

const fn word(job: Job) -> &'static str {
    match job {
        Job::Lift => "the flaps or brakes",
        Job::Motor => "the motor",
        Job::Gear => "the wheels",
        Job::Release => "the release",
        Job::Winch => "the winch",
        Job::Steering => "what steers",
        Job::Own => "something else",
    }
}
