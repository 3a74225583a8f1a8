//! `alarms/time-odd`: capacity and draw come to a time that no battery of an aircraft lasts.

use crate::findings::fact::{Amount, Unit, amount};
use crate::fleet::Dimension;
use crate::fleet::craft::Craft;
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::alarms::battery_times;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let (least, most) = (out.parameter("shortest", Dimension::Time), out.parameter("longest", Dimension::Time));
    for time in battery_times(craft).into_iter().filter(|time| time.is_outside(least, most)) {
        let facts = [
            amount("capacity", Amount::Computed(time.lasts.capacity_mah, 0), Unit::Mah),
            amount("draw", time.lasts.draw_a, Unit::A),
            amount("lasts", time.lasts.seconds, Unit::Clock),
        ];
        let sentence =
            "A draw of {draw} from {capacity} comes to {lasts}: one of the two is likely in another unit than meant.";
        out.find(craft.head.place(time.odd), "odd", sentence, facts)
            .other(craft.head.place(time.other), "the other of the two")
            .mend_words("Write the capacity as it stands on the battery, and the draw as the meter or the flight time tells it.");
    }
}
