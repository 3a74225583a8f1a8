//! `arming/slow`: the news of the arming switch can be late, even when nothing is lost on the way.

use crate::findings::Severity;
use crate::findings::fact::{Amount, Unit, amount, channel, number};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::radio::lateness;
use crate::setup::{Setup, Way};

pub(in crate::rules) fn check(setup: &Setup<'_>, way: &Way<'_>, out: &mut Out<'_>) {
    for arm in setup.arm_channels() {
        let Some(late) = lateness(way, arm) else { continue };
        let severity = match &late {
            late if late.exceeds(out.parameter("far-after", Dimension::Time)) => Severity::Caution,
            late if late.exceeds(out.parameter("after", Dimension::Time)) => Severity::Note,
            _ => continue,
        };
        let facts = [
            channel(arm),
            amount("late", Amount::Computed(late.wait_ms, 0), Unit::Ms),
            number("every", late.every),
            number("rate", late.update_rate),
        ];
        let (key, sentence) = match late.telemetry {
            false => (
                "late",
                "Channel {channel} can reach the aircraft {late} late: it travels in one update of {every}, at {rate} updates a second.",
            ),
            true => (
                "late beside telemetry",
                "Channel {channel} can reach the aircraft {late} late: it travels in one update of {every}, at {rate} updates a second, some of which go to telemetry.",
            ),
        };
        let finding = out.find(setup.channel_place(arm), key, sentence, facts).severity(severity);
        if let Some(carried) = late.carried {
            finding.other(carried, "how the link carries it");
        }
    }
}
