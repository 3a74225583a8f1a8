//! `alarms/no-telemetry`: an alarm for something that only telemetry can tell, while telemetry is off.

use crate::fleet::model::AlarmKind;
use crate::rules::out::Out;
use crate::setup::ModelSetup;
use crate::setup::alarms::{is_on, telemetry};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let Some(off) = telemetry(view).filter(|telemetry| !is_on(telemetry.value)) else { return };
    // A bay that does not say may have telemetry on.
    if view.model.simulator.is_some() || view.bays.iter().any(|bay| bay.module.telemetry.is_none()) {
        return;
    }
    for alarm in &view.model.alarms {
        let what = match alarm.kind {
            AlarmKind::LinkQuality(_) => "the link quality at the receiver",
            AlarmKind::Signal(_) => "the signal at the receiver",
            AlarmKind::Battery { .. } => "the flight battery",
        };
        out.find_text(
            view.model.head.place(alarm.span),
            format!("The alarm never sounds: telemetry is off, so the handset does not learn of {what}."),
        )
        .other(view.model.head.place(off.span), "telemetry is off");
    }
}
