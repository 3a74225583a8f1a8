//! `surfaces/differential`: an aileron goes further down than up.

use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, us};
use crate::rules::out::Out;
use crate::setup::surfaces::pairs::further_down;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    for found in further_down(surfaces, signals.answers(surfaces)) {
        let number = found.surface.channel.value;
        let Some(known) = out.channel(setup, number) else { continue };
        let facts = [channel(number), us("down", Computed(found.down, 1)), us("up", Computed(found.up, 1))];
        let sentence = "The aileron on channel {channel} goes down by {down} and up by {up}.";
        out.find(setup.in_model(known.header), "further down", sentence, facts)
            .other(setup.in_craft(found.surface.span), "which way the aileron goes");
    }
}
