//! `surfaces/compensation`: the elevator that goes with flaps or brakes turns round, or lifts the nose that the brakes lift already.

use super::{sentence, shown, standing};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channels, percent, text};
use crate::rules::out::Out;
use crate::setup::surfaces::mixes::{Odd, odd_compensation};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    let Some(start) = answers.at_start(&setup.demands(signals)) else { return };
    let Some(found) = odd_compensation(setup, surfaces, answers, start) else { return };
    let (lever, state) = match &found {
        Odd::Turns(lever, [_, (state, _)]) | Odd::Up(lever, state, _) => (lever, *state),
    };
    let Some(first) = lever.surfaces().next() else { return };
    let Some(known) = out.channel(setup, first.channel.value) else { return };
    let (held, mut facts) = standing(answers, signals, state);
    facts.push(channels("channels", lever.surfaces().map(|surface| surface.channel.value)));
    let (key, rest) = match &found {
        Odd::Turns(_, [(half, half_share), (_, share)]) => {
            facts.extend([
                text("half_way", answers.named(signals, half)),
                percent("half", Computed(half_share.abs(), 0)),
                percent("full", Computed(share.abs(), 0)),
            ]);
            match *share > 0.0 {
                true => (
                    "turns",
                    "channel {channels} goes with the flaps or brakes as {full} of the pitch stick away from you does, and half-way, with {half_way}, as {half} of it towards you: the nose is helped one way and then the other.",
                ),
                false => (
                    "turns",
                    "channel {channels} goes with the flaps or brakes as {full} of the pitch stick towards you does, and half-way, with {half_way}, as {half} of it away from you: the nose is helped one way and then the other.",
                ),
            }
        }
        Odd::Up(_, _, share) => {
            facts.push(percent("full", Computed(*share, 0)));
            (
                "up",
                "ailerons go up and flaps down, which commonly lifts the nose, and channel {channels} lifts it further, as {full} of the pitch stick towards you does.",
            )
        }
    };
    out.find(setup.in_model(known.header), key, &sentence(held, rest), facts)
        .shown_by(shown(answers, signals, state, None))
        .other(setup.in_craft(first.span), "what the channel moves");
}
