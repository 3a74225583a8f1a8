//! `throttle/idle-misstated`: where a motor is said to idle, nothing that is meant to stop it does.

use crate::findings::fact::{channel, idles as idle_is, us};
use crate::rules::out::Out;
use crate::rules::wording::with_caution;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for wrong in setup.misstated() {
        let facts = [
            channel(wrong.motor.channel),
            idle_is("idle", wrong.idle),
            us("low", &wrong.lowest),
            us("stored", wrong.stored.value),
        ];
        let sentence = "The motor on channel {channel} is said to idle {idle}. The lowest stick sends {low}, and the stored failsafe gives {stored}: either would run it, so that this line is likely the wrong one.";
        out.find(wrong.motor.place, "misstated", sentence, facts)
            .other(setup.channel_place(wrong.motor.channel), "what the model sends there")
            .other(wrong.place, "what the receiver stores")
            .mend_words(with_caution(setup, "Look where the motor stands still, and state that."));
    }
}
