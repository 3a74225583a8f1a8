//! `alarms/no-limit`: nothing says when the battery will be empty.

use super::{in_flight, lasts, minutes, volts};
use crate::fleet::model::AlarmKind;
use crate::fleet::words::MotorKind;
use crate::radio::battery::Chemistry;
use crate::rules::out::{Out, choice, insert};
use crate::setup::Setup;
use crate::setup::alarms::is_on;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (model, head) = (setup.model, &setup.model.head);
    let Some(battery) = setup.craft.battery.as_ref().filter(|_| model.simulator.is_none()) else { return };
    let burns = setup.craft.motor.is_some_and(|motor| motor.value == MotorKind::Combustion);
    let warned = model.alarms.iter().any(|alarm| matches!(alarm.kind, AlarmKind::Battery { .. }));
    if burns || warned || !model.timers.is_empty() || head.lost_here(&["alarm", "timer"]) {
        return;
    }
    let mut choices = Vec::new();
    if let Some((seconds, sum)) = lasts(setup) {
        let flight = in_flight(setup).map_or_else(String::new, |flight| format!(" while {flight}"));
        let timer = format!("timer {}{flight}", minutes(seconds));
        choices.push(choice(format!("add a timer: {}", sum()), vec![insert(head, &head.body, &timer)]));
    }
    let telemetry = setup.bay.and_then(|bay| bay.module.telemetry).is_some_and(|telemetry| is_on(telemetry.value));
    if let Some(chemistry) = Chemistry::named(&battery.chemistry.value).filter(|_| telemetry) {
        let volts = volts(chemistry.landing_under_load.volts);
        let alarm = format!("alarm battery below {volts} per-cell under-load");
        let label = format!("add an alarm at {volts} a cell under load, the landing voltage of this chemistry");
        choices.push(choice(label, vec![insert(head, &head.body, &alarm)]));
    }
    out.find_text(head.place(head.header), "The model has neither a timer nor an alarm for the flight battery.")
        .other(setup.in_craft(battery.header), "the battery")
        .mend_choices("Add a timer, or an alarm for the battery, or both.", choices);
}
