//! `surfaces/hard-over`: a surface is held far from its middle at a lost link, or at rest.

use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, percent, us};
use crate::fleet::Dimension;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::surfaces::held::{at_rest, from_middle, only_steers};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let limit = out.parameter("limit", Dimension::Percent).to_f64();
    let answers = signals.answers(surfaces);
    for surface in surfaces.channels.iter().filter(|surface| only_steers(surface)) {
        let number = surface.channel.value;
        for plan in setup.at_loss().iter().filter_map(|at| at.does(FailsafeAction::Preset)) {
            let Some(stored) = plan.pulse(number) else { continue };
            let off = from_middle(answers, stored.pulse.value);
            if off <= limit {
                continue;
            }
            let facts = [channel(number), us("stored", stored.pulse.value), percent("off", Computed(off, 0))];
            let sentence = "When the link is lost the surface on channel {channel} goes to {stored}, {off} of the way to its end, and stays there.";
            out.find(plan.head.place(stored.span), "stored", sentence, facts)
                .other(setup.in_craft(surface.span), "what the channel moves");
        }
        let Some(known) = out.channel(setup, number) else { continue };
        let Some((pulse, off)) = at_rest(answers, surface).filter(|(_, off)| *off > limit) else { continue };
        let facts = [channel(number), us("rests", Computed(pulse, 1)), percent("off", Computed(off, 0))];
        let sentence = "With every control at rest the surface on channel {channel} stands at {rests}, {off} of the way to its end.";
        out.find(setup.in_model(known.header), "at rest", sentence, facts)
            .other(setup.in_craft(surface.span), "what the channel moves");
    }
}
