//! `alarms/no-telemetry`: an alarm for something that only telemetry can tell, while telemetry is off.

use crate::findings::fact::word;
use crate::fleet::model::AlarmKind;
use crate::rules::out::Out;
use crate::setup::ModelSetup;
use crate::setup::alarms::without_telemetry;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let off = without_telemetry(&view.bays);
    if off.is_empty() {
        return;
    }
    let head = &view.model.head;
    for alarm in &view.model.alarms {
        let (key, what) = match alarm.kind {
            AlarmKind::LinkQuality(_) => ("quality", "the link quality at the receiver"),
            AlarmKind::Signal(_) => ("signal", "the signal at the receiver"),
            AlarmKind::Battery { .. } => ("battery", "the flight battery"),
        };
        let sentence = "The alarm never sounds: telemetry is off, so the handset does not learn of {what}.";
        let finding = out.find(head.place(alarm.span), key, sentence, [word("what", what)]);
        for telemetry in off.iter().filter_map(|bay| bay.module.telemetry) {
            finding.other(head.place(telemetry.span), "telemetry is off");
        }
    }
}
