//! `alarms/battery-early`: the battery alarm sounds nearly all the time.

use super::{at_landing, each, volts};
use crate::findings::fact::text;
use crate::radio::battery::Measured;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

/// What a sentence ends in where the alarm measures at rest.
const RESTED: &str =
    ", which is more than the {early} that a {chemistry} cell has at rest with half of its charge left.";
/// The same where it measures with the motors running, or where that is not stated.
const LOADED: &str = ", which is more than the {early} that a {chemistry} cell gives for most of a flight.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // An alarm for another pack is a finding of its own.
    for alarm in battery_alarms(setup).iter().filter(|alarm| alarm.is_early() && alarm.other_cells().is_none()) {
        let (key, sounds, mut facts) = each(alarm);
        facts.push(volts("early", alarm.early_v()));
        facts.push(text("chemistry", alarm.chemistry.title));
        let rest = if alarm.measured == Some(Measured::Rested) { RESTED } else { LOADED };
        out.find(setup.in_model(alarm.alarm.span), key, &[sounds, rest].concat(), facts)
            .mend_choices("Lower the alarm to the landing voltage.", at_landing(setup, alarm));
    }
}
