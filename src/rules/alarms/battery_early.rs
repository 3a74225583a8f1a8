//! `alarms/battery-early`: the battery alarm sounds nearly all the time.

use super::{each, landing_text, volts};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::battery_alarms;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for alarm in battery_alarms(setup) {
        let nominal = alarm.chemistry.nominal.volts;
        let early = alarm.is_early();
        if !early || alarm.other_cells().is_some() {
            continue;
        }
        let message = format!(
            "The alarm sounds at {}, which is more than the {} that a {} cell gives for most of a flight.",
            each(&alarm).trim_end_matches(','),
            volts(nominal),
            alarm.chemistry.title
        );
        let choices = landing_text(&alarm).map(|text| {
            let edit = replace(&setup.model.head, alarm.voltage.span, text.clone());
            choice(format!("sound the alarm at {text}"), vec![edit])
        });
        out.find_text(setup.in_model(alarm.alarm.span), message)
            .mend_choices("Lower the alarm to the landing voltage.", choices.into_iter().collect());
    }
}
