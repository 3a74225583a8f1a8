//! `alarms/handset-battery`: the handset's own battery alarm lies outside what its battery can give.

use super::volts;
use crate::fleet::equipment::Handset;
use crate::radio::battery::Chemistry;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Context;
use crate::setup::alarms::SAME_V;

pub(in crate::rules) fn check(_: &Context<'_>, handset: &Handset, out: &mut Out<'_>) {
    let Some(battery) = &handset.battery else { return };
    let (Some(cells), Some(alarm)) = (battery.cells, battery.alarm) else { return };
    let Some(chemistry) = Chemistry::named(&battery.chemistry.value) else { return };
    let count = f64::from(cells.value.max(1));
    let cell = alarm.value.to_f64() / count;
    // A handset draws little, but not nothing: the figure under load is the last one that is in time.
    let (late, full) = (chemistry.landing_under_load.volts, chemistry.full.volts);
    let why = if cell < late - SAME_V {
        format!("below the {} at which a {} cell is nearly empty", volts(late), chemistry.title)
    } else if cell > full + SAME_V {
        format!("more than the {} of a full {} cell, so that it sounds all the time", volts(full), chemistry.title)
    } else {
        return;
    };
    let message =
        format!("The alarm of the handset's own battery at {} V is {} a cell, {why}.", alarm.value, volts(cell));
    let text = volts(chemistry.landing_rested.volts * count);
    let edit = replace(&handset.head, alarm.span, text.clone());
    out.find_text(handset.head.place(alarm.span), message).mend_choices(
        "Set the alarm to the voltage at which a fifth of the charge is left.",
        vec![choice(format!("sound the alarm at {text}"), vec![edit])],
    );
}
