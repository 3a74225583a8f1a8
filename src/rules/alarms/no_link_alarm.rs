//! `alarms/no-link-alarm`: no alarm tells that the link gets weak.

use crate::findings::Severity;
use crate::findings::fact::{Amount, Unit, amount, fill, percent};
use crate::fleet::Decimal;
use crate::fleet::model::AlarmKind;
use crate::rules::out::{Out, choice, insert};
use crate::setup::ModelSetup;
use crate::setup::alarms::{has_telemetry, least_signal};

/// How far above the sensitivity the proposed signal alarm lies, in dB. Common practice, no source.
const ABOVE_DB: Decimal = Decimal::whole(10);
/// The link quality below which the proposed alarm sounds, in percent. Common practice, no source.
const QUALITY: Decimal = Decimal::whole(65);

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let (model, head) = (view.model, &view.model.head);
    if model.alarms.iter().any(|alarm| !matches!(alarm.kind, AlarmKind::Battery { .. })) {
        return;
    }
    let words = "Add an alarm for the link, with telemetry on.";
    let sentence = "No alarm for link quality or signal: nothing warns before the link is lost.";
    let finding = out.find(head.place(head.header), "no-alarm", sentence, []);
    if !view.bays.iter().any(has_telemetry) {
        finding.also("no-telemetry", "Without telemetry the handset can't know.", []);
        finding.severity(Severity::Note).mend_words(words);
        return;
    }
    let alarm = fill("alarm link-quality below {quality}", &[percent("quality", QUALITY)]);
    let mut choices = vec![choice("add an alarm for the link quality", vec![insert(head, &head.body, &alarm)])];
    if let Some(least) = least_signal(view) {
        let good = Amount::Computed(least.above(ABOVE_DB), 6);
        let mend = [amount("good", good, Unit::Dbm), amount("above", ABOVE_DB, Unit::Db)];
        let label = fill("add an alarm for the signal, {above} above what the link needs", &mend);
        let alarm = fill("alarm signal below {good}", &mend);
        choices.push(choice(label, vec![insert(head, &head.body, &alarm)]));
    }
    finding.severity(Severity::Caution).mend_choices(words, choices);
}
