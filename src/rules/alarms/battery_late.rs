//! `alarms/battery-late`: the battery alarm sounds when the battery is already too low.

use super::{at_landing, each, measured_words, volts};
use crate::findings::fact::{text, word};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::alarms::{BatteryAlarm, battery_alarms};

/// What every sentence ends in.
const REST: &str = " and {chemistry} cells are to land at {landing} {measured}.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let lowest = out.parameter("li-ion-under-load", Dimension::Voltage);
    let is_late = |alarm: &&BatteryAlarm<'_>| alarm.is_late(alarm.may_be_lower().then_some(lowest));
    // An alarm for another pack is a finding of its own.
    for alarm in battery_alarms(setup).iter().filter(is_late).filter(|alarm| alarm.other_cells().is_none()) {
        let (key, sounds, mut facts) = each(alarm);
        facts.push(text("chemistry", alarm.chemistry.title));
        facts.push(volts("landing", alarm.landing_v()));
        facts.push(word("measured", measured_words(alarm)));
        let finding = out.find(setup.in_model(alarm.alarm.span), key, &[sounds, REST].concat(), facts);
        finding.mend_choices("Raise the alarm to the landing voltage.", at_landing(setup, alarm));
        if let Some(battery) = setup.craft.watched_battery() {
            finding.other(setup.in_craft(battery.header), "the battery");
        }
    }
}
