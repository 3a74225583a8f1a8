//! `alarms/handset-battery`: the handset's own battery alarm lies outside what its battery can give.

use super::{sound_at, volts};
use crate::findings::fact::{Unit, amount, fill, text};
use crate::fleet::equipment::Handset;
use crate::rules::out::{Out, replace};
use crate::setup::Context;
use crate::setup::alarms::OwnAlarm;

const LATE: &str = "The alarm of the handset's own battery at {voltage} is {cell} a cell, below the {limit} at which a {chemistry} cell is nearly empty.";
const ALWAYS: &str = "The alarm of the handset's own battery at {voltage} is {cell} a cell, more than the {limit} of a full {chemistry} cell, so that it sounds all the time.";

pub(in crate::rules) fn check(_: &Context<'_>, handset: &Handset, out: &mut Out<'_>) {
    let Some(alarm) = OwnAlarm::of(handset) else { return };
    let (key, sentence, limit) = if alarm.is_late() {
        ("late", LATE, alarm.last_v())
    } else if alarm.never_stops() {
        ("always", ALWAYS, alarm.chemistry.full.volts)
    } else {
        return;
    };
    let facts = [
        amount("voltage", alarm.voltage.value, Unit::V),
        volts("cell", alarm.cell_v()),
        volts("limit", limit),
        text("chemistry", alarm.chemistry.title),
    ];
    let good = fill("{good}", &[volts("good", alarm.good_v())]);
    out.find(handset.head.place(alarm.voltage.span), key, sentence, facts).mend_choices(
        "Set the alarm to the voltage at which a fifth of the charge is left.",
        vec![sound_at(good, |text| replace(&handset.head, alarm.voltage.span, text))],
    );
}
