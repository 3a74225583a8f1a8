//! `surfaces/hard-over`: a surface is held far from its middle at a lost link, or at rest; or what is stored rolls the aircraft.

use super::{shown, way_of};
use crate::findings::Severity;
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, channels, percent, text, us};
use crate::fleet::words::{FailsafeAction, Stick};
use crate::fleet::{Decimal, Dimension};
use crate::rules::out::Out;
use crate::setup::surfaces::attitude::{Asked, asked};
use crate::setup::surfaces::held::{at_rest, from_middle, only_steers};
use crate::setup::{Plan, Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let limit = out.parameter("limit", Dimension::Percent).to_f64();
    let answers = signals.answers(surfaces);
    let is_over = |pulse: Decimal| from_middle(answers, pulse) > limit;
    for surface in surfaces.channels.iter().filter(|surface| only_steers(surface)) {
        let number = surface.channel.value;
        for plan in setup.at_loss().iter().filter_map(|at| at.does(FailsafeAction::Preset)) {
            let Some(stored) = plan.pulse(number).filter(|stored| is_over(stored.pulse.value)) else { continue };
            let off = from_middle(answers, stored.pulse.value);
            let facts = [channel(number), us("stored", stored.pulse.value), percent("off", Computed(off, 0))];
            let sentence = "When the link is lost the surface on channel {channel} goes to {stored}, {off} of the way to its end, and stays there.";
            out.find(plan.head.place(stored.span), "stored", sentence, facts)
                .other(setup.in_craft(surface.span), "what the channel moves");
        }
        let Some(known) = out.channel(setup, number) else { continue };
        let Some((pulse, off)) = at_rest(answers, surface).filter(|(_, off)| *off > limit) else { continue };
        let facts = [channel(number), us("rests", Computed(pulse, 1)), percent("off", Computed(off, 0))];
        let sentence = "With every control at rest the surface on channel {channel} stands at {rests}, {off} of the way to its end.";
        let finding = out.find(setup.in_model(known.header), "at rest", sentence, facts);
        finding.case("at rest").other(setup.in_craft(surface.span), "what the channel moves").mend_words(
            "Look at the terms of the channel's value, its subtrim and its centre: one of them moves the surface with no stick moved.",
        );
        if let Some(state) = answers.states.first() {
            finding.shown_by(shown(answers, signals, state, None));
        }
    }
    // A single surface that is far over has been told of.
    let stored = |number: u8| Some(acting(setup, number)?.pulse(number)?.pulse.value);
    let share = out.parameter("share", Dimension::Percent);
    let danger = out.parameter("danger", Dimension::Percent).to_f64();
    for found in asked(surfaces, answers, share.to_f64(), &|number| Some(stored(number)?.to_f64())) {
        let parts = found.surfaces();
        let told = |number: u8| stored(number).is_some_and(is_over);
        if parts.iter().any(|surface| only_steers(surface) && told(surface.channel.value)) {
            continue;
        }
        let numbers = || parts.iter().map(|surface| surface.channel.value);
        let mut facts = vec![channels("channels", numbers())];
        let (key, sentence) = match &found {
            Asked::Stick(lever, asks) => {
                facts.extend([percent("asks", Computed(asks.abs(), 0)), percent("limit", share)]);
                match (lever.stick, *asks > 0.0) {
                    (Stick::Pitch, _) => (
                        "nose down",
                        "When the link is lost the pulses stored for channel {channels} put the nose down as {asks} of the whole pitch stick does, and stay there (more than {limit} counts).",
                    ),
                    (_, true) => (
                        "rolls",
                        "When the link is lost the pulses stored for channel {channels} roll the aircraft to the right as {asks} of the whole stick does, and stay there (more than {limit} counts).",
                    ),
                    (_, false) => (
                        "rolls",
                        "When the link is lost the pulses stored for channel {channels} roll the aircraft to the left as {asks} of the whole stick does, and stay there (more than {limit} counts).",
                    ),
                }
            }
            Asked::Apart(_, apart) => {
                facts.extend([percent("apart", Computed(*apart, 0)), percent("limit", share)]);
                (
                    "apart",
                    "When the link is lost the surfaces on channel {channels} go apart, one up and one down, by {apart} of the way to their ends, and roll the aircraft (more than {limit} counts).",
                )
            }
            Asked::Collective(surface, is_high) => {
                facts.push(text("goes", way_of(surface, *is_high)));
                (
                    "collective",
                    "When the link is lost the collective on channel {channels} goes to the end of its way, full {goes}, and stays there.",
                )
            }
        };
        let places = numbers().filter_map(|number| {
            let plan = acting(setup, number)?;
            Some(plan.head.place(plan.pulse(number)?.span))
        });
        let places: Vec<_> = places.collect();
        let Some((first, others)) = places.split_first() else { continue };
        // A small offset is often stored on purpose, and the aircraft comes down slowly with it.
        let is_grave = match &found {
            Asked::Stick(_, by) | Asked::Apart(_, by) => by.abs() > danger,
            Asked::Collective(..) => true,
        };
        let finding = out.find(*first, key, sentence, facts);
        if !is_grave {
            finding.severity(Severity::Caution);
        }
        for other in others {
            finding.other(*other, "the other side");
        }
        for surface in parts.iter().take(1) {
            finding.other(setup.in_craft(surface.span), "what the channel moves");
        }
    }
}

/// The preset that drives a channel when the link is lost.
fn acting<'f>(setup: &Setup<'f>, number: u8) -> Option<Plan<'f>> {
    let mut plans = setup.at_loss().iter().filter(|at| at.drives(number));
    plans.find_map(|at| at.does(FailsafeAction::Preset).filter(|plan| plan.pulse(number).is_some()))
}
