//! `alarms/no-limit`: nothing says when the battery will be empty.

use super::{SUM, sum, volts};
use crate::findings::fact::fill;
use crate::fleet::model::AlarmKind;
use crate::radio::battery::Chemistry;
use crate::rules::out::{Out, choice, insert};
use crate::setup::Setup;
use crate::setup::alarms::{has_telemetry, in_flight, lasts};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (model, head) = (setup.model, &setup.model.head);
    let Some(battery) = setup.craft.flight_battery() else { return };
    let warned = model.alarms.iter().any(|alarm| matches!(alarm.kind, AlarmKind::Battery { .. }));
    if warned || !model.timers.is_empty() {
        return;
    }
    let mut choices = Vec::new();
    if let Some(lasts) = lasts(setup) {
        let flight = in_flight(setup).map_or_else(String::new, |flight| format!(" while {flight}"));
        let timer = fill("timer {lasts}", &sum(&lasts)) + &flight;
        let label = fill(&["add a timer: ", SUM].concat(), &sum(&lasts));
        choices.push(choice(label, vec![insert(head, &head.body, &timer)]));
    }
    let telemetry = setup.bays.iter().any(has_telemetry);
    if let Some(chemistry) = Chemistry::named(&battery.chemistry.value).filter(|_| telemetry) {
        let landing = [volts("landing", chemistry.landing_under_load.volts)];
        let alarm = fill("alarm battery below {landing} per-cell under-load", &landing);
        let label = "add an alarm at {landing} a cell under load, the landing voltage of this chemistry";
        choices.push(choice(fill(label, &landing), vec![insert(head, &head.body, &alarm)]));
    }
    let sentence = "The model has neither a timer nor an alarm for the flight battery.";
    out.find(head.place(head.header), "no-limit", sentence, [])
        .other(setup.in_craft(battery.header), "the battery")
        .mend_choices("Add a timer, or an alarm for the battery, or both.", choices);
}
