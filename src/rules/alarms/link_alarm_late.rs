//! `alarms/link-alarm-late`: the link alarm sounds when there is hardly any link left.

use super::sound_at;
use crate::findings::fact::{Amount, Unit, amount, fill, percent};
use crate::fleet::model::{Alarm, AlarmKind};
use crate::fleet::{Decimal, Dimension};
use crate::rules::out::{Out, replace};
use crate::setup::ModelSetup;
use crate::setup::alarms::least_signal;
use crate::source::Located;

const SIGNAL: &str = "The alarm sounds at {signal}, {room} over the {least} that the link needs at {rate}.";

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for alarm in &view.model.alarms {
        match alarm.kind {
            AlarmKind::LinkQuality(quality) => of_quality(view, alarm, quality, out),
            AlarmKind::Signal(signal) => of_signal(view, alarm, signal, out),
            AlarmKind::Battery { .. } => {}
        }
    }
}

fn of_quality(view: &ModelSetup<'_>, alarm: &Alarm, quality: Located<Decimal>, out: &mut Out<'_>) {
    let least = out.parameter("quality", Dimension::Percent);
    if quality.value >= least {
        return;
    }
    let head = &view.model.head;
    let mend = [percent("least", least)];
    let choices = vec![sound_at(fill("{least}", &mend), |text| replace(head, quality.span, text))];
    let sentence = "The alarm sounds at a link quality below {quality}, when the link can go at any moment.";
    out.find(head.place(alarm.span), "quality", sentence, [percent("quality", quality.value)])
        .mend_choices(fill("Raise the alarm to {least} or more.", &mend), choices);
}

fn of_signal(view: &ModelSetup<'_>, alarm: &Alarm, signal: Located<Decimal>, out: &mut Out<'_>) {
    let above = out.parameter("above-sensitivity", Dimension::Loss);
    let Some(least) = least_signal(view).filter(|least| least.is_near(signal.value, above)) else { return };
    let head = &view.model.head;
    let facts = [
        amount("signal", signal.value, Unit::Dbm),
        amount("room", Amount::Computed(least.room(signal.value), 0), Unit::Db),
        amount("least", Amount::Computed(least.dbm, 6), Unit::Dbm),
        amount("rate", least.rate, Unit::Hz),
    ];
    // Rounded to whole decibels it would still be late.
    let mend = [amount("good", Amount::Computed(least.above(above), 6), Unit::Dbm), amount("above", above, Unit::Db)];
    let choices = vec![sound_at(fill("{good}", &mend), |text| replace(head, signal.span, text))];
    out.find(head.place(alarm.span), "signal", SIGNAL, facts)
        .mend_choices(fill("Raise the alarm to {above} or more above what the link needs.", &mend), choices);
}
