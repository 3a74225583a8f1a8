//! `failsafe/sheets`: the stored failsafe of a sailing boat hauls its sheets in.

use super::{once_all_have, presets};
use crate::findings::fact::{channel, us};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::failsafe::hauled_in;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (at, plan) in presets(setup) {
        for (surface, stored) in hauled_in(setup, at, &plan) {
            let facts = [channel(surface.channel.value), us("stored", stored.pulse.value)];
            let sentence = "When the link is lost the receiver gives the winch on channel {channel} a stored pulse of {stored}, and hauls the sheets in.";
            let finding = out.find(plan.head.place(stored.span), "hauled in", sentence, facts);
            finding.other(setup.in_craft(surface.span), "which way it moves");
            once_all_have(setup, at, finding);
        }
    }
}
