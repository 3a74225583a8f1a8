//! `alarms/no-link-alarm`: no alarm tells that the link gets weak.

use crate::findings::Severity;
use crate::fleet::model::AlarmKind;
use crate::rules::out::{Out, choice, insert};
use crate::setup::ModelSetup;
use crate::setup::alarms::{is_on, sensitivity, telemetry};

/// How far above the sensitivity the proposed signal alarm lies, in dB. Common practice, no source.
const ABOVE_DB: f64 = 10.0;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let (model, head) = (view.model, &view.model.head);
    let has = model.alarms.iter().any(|alarm| !matches!(alarm.kind, AlarmKind::Battery { .. }));
    if has || model.simulator.is_some() || view.bays.is_empty() || head.lost_here(&["alarm"]) {
        return;
    }
    let on = telemetry(view).is_some_and(|telemetry| is_on(telemetry.value));
    let mut message = "No alarm for link quality or signal: nothing warns before the link is lost.".to_owned();
    let mut choices = Vec::new();
    if on {
        let alarm = "alarm link-quality below 65 %";
        choices.push(choice("add an alarm for the link quality", vec![insert(head, &head.body, alarm)]));
        if let Some(least) = view.bays.iter().find_map(sensitivity) {
            let alarm = format!("alarm signal below {} dBm", least + ABOVE_DB);
            let label = format!("add an alarm for the signal, {ABOVE_DB} dB above what the link needs");
            choices.push(choice(label, vec![insert(head, &head.body, &alarm)]));
        }
    } else {
        message += " Without telemetry the handset can't know.";
    }
    out.find_text(head.place(head.header), message)
        .severity(if on { Severity::Caution } else { Severity::Note })
        .mend_choices("Add an alarm for the link, with telemetry on.", choices);
}
