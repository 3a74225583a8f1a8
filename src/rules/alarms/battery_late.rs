//! `alarms/battery-late`: the battery alarm sounds when the battery is already too low.

use super::{each, landing_text, measured_words, volts};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for alarm in battery_alarms(setup) {
        let late = alarm.is_late();
        // An alarm for another pack is a finding of its own.
        if !late || alarm.other_cells().is_some() {
            continue;
        }
        let message = format!(
            "The alarm sounds at {} and {} cells are to land at {} {}.",
            each(&alarm).trim_end_matches(','),
            alarm.chemistry.title,
            volts(alarm.landing_v()),
            measured_words(&alarm)
        );
        let choices = landing_text(&alarm).map(|text| {
            let edit = replace(&setup.model.head, alarm.voltage.span, text.clone());
            choice(format!("sound the alarm at {text}"), vec![edit])
        });
        let battery = setup.craft.battery.as_ref().map(|battery| battery.header);
        let finding = out.find_text(setup.in_model(alarm.alarm.span), message);
        finding.mend_choices("Raise the alarm to the landing voltage.", choices.into_iter().collect());
        if let Some(header) = battery {
            finding.other(setup.in_craft(header), "the battery");
        }
    }
}
