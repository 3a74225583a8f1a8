//! `surfaces/gain-crosses`: a switch moves the gain of a gyro from one side of the middle to the other.

use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, name, text, us};
use crate::rules::out::Out;
use crate::setup::surfaces::positions::gain_both_sides;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    for found in gain_both_sides(surfaces, signals, signals.answers(surfaces)) {
        let number = found.surface.channel.value;
        let Some(known) = out.channel(setup, number) else { continue };
        let facts = [
            channel(number),
            name("control", signals.name(found.control)),
            text("first_at", signals.position_name(found.control, found.at[0])),
            text("second_at", signals.position_name(found.control, found.at[1])),
            us("first", Computed(found.pulses[0], 1)),
            us("second", Computed(found.pulses[1], 1)),
        ];
        let sentence = "The gain on channel {channel} goes from one side of the middle to the other between {control} {first_at} ({first}) and {second_at} ({second}): most gyros change there between holding the heading and damping only.";
        out.find(setup.in_model(known.header), "crosses", sentence, facts)
            .other(setup.in_craft(found.surface.span), "what the channel sets");
    }
}
