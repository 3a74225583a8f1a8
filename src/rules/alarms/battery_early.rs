//! `alarms/battery-early`: the battery alarm sounds nearly all the time.

use super::{at_landing, each, volts};
use crate::findings::fact::text;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

/// What every sentence ends in.
const REST: &str = ", which is more than the {nominal} that a {chemistry} cell gives for most of a flight.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // An alarm for another pack is a finding of its own.
    for alarm in battery_alarms(setup).iter().filter(|alarm| alarm.is_early() && alarm.other_cells().is_none()) {
        let (key, sounds, mut facts) = each(alarm);
        facts.push(volts("nominal", alarm.chemistry.nominal.volts));
        facts.push(text("chemistry", alarm.chemistry.title.as_str()));
        out.find(setup.in_model(alarm.alarm.span), key, &[sounds, REST].concat(), facts)
            .mend_choices("Lower the alarm to the landing voltage.", at_landing(setup, alarm));
    }
}
