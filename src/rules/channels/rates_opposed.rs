//! `channels/rates-opposed`: a switch makes one stick gentler and another livelier.

use crate::findings::fact::{name, percent, text};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::opposite_rates::opposite_rates;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // Which line holds does not hang on the link.
    let Some(signals) = setup.signals() else { return };
    let Some(found) = opposite_rates(setup, signals) else { return };
    let [(one, [one_low, one_high]), (other, [other_low, other_high])] = found.sticks;
    let facts = [
        name("control", signals.name(found.control)),
        text("first_at", signals.position_name(found.control, found.at[0])),
        text("second_at", signals.position_name(found.control, found.at[1])),
        text("stick", one.name),
        text("other", other.name),
        percent("stick_first", one_low.rate.value),
        percent("stick_second", one_high.rate.value),
        percent("other_first", other_low.rate.value),
        percent("other_second", other_high.rate.value),
    ];
    let sentence = "From {control} {first_at} to {second_at} the rate of the {stick} stick goes from {stick_first} to {stick_second}, and that of the {other} stick from {other_first} to {other_second}: which of them is the gentle position?";
    out.find(setup.in_model(other.header), "opposed", sentence, facts)
        .other(setup.in_model(one.header), "the other stick");
}
