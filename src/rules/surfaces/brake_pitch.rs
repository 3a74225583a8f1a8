//! `surfaces/brake-pitch`: landing brakes come out and no elevator moves.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, percent};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::surfaces::held::uncompensated;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let share = out.parameter("share", Dimension::Percent).to_f64();
    let answers = signals.answers(surfaces);
    let Some(found) = uncompensated(setup, surfaces, answers, share) else { return };
    let number = found.brake.channel.value;
    let Some(known) = out.channel(setup, number) else { return };
    let (held, mut facts) = with(answers, signals, found.state);
    facts.extend([channel(number), percent("moves", Computed(found.percent, 0))]);
    let rest = "the brake on channel {channel} moves by {moves} of the scale, and no elevator moves with it.";
    out.find(setup.in_model(known.header), "alone", &sentence(held, rest), facts)
        .shown_by(shown(answers, signals, found.state, None))
        .other(setup.in_craft(found.brake.span), "what the channel moves");
}
