//! `surfaces/brake-pitch`: landing brakes come out and no elevator moves.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, channel_as, name, percent};
use crate::fleet::Dimension;
use crate::fleet::craft::Surfaces;
use crate::rules::out::Out;
use crate::setup::surfaces::answers::Answers;
use crate::setup::surfaces::held::{stepped, uncompensated};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let share = out.parameter("share", Dimension::Percent).to_f64();
    let answers = signals.answers(surfaces);
    let Some(found) = uncompensated(setup, surfaces, answers, share) else {
        return steps(setup, signals, surfaces, answers, out);
    };
    let number = found.brake.channel.value;
    let Some(known) = out.channel(setup, number) else { return };
    let (held, mut facts) = with(answers, signals, found.state);
    facts.extend([channel(number), percent("moves", Computed(found.percent, 0))]);
    let rest = "the brake on channel {channel} moves by {moves} of its way, and no elevator moves with it.";
    out.find(setup.in_model(known.header), "alone", &sentence(held, rest), facts)
        .shown_by(shown(answers, signals, found.state, None))
        .other(setup.in_craft(found.brake.span), "what the channel moves");
}

/// An elevator that jumps somewhere while the brakes come out evenly.
fn steps(setup: &Setup<'_>, signals: &Signals, surfaces: &Surfaces, answers: &Answers, out: &mut Out<'_>) {
    let step = out.parameter("step", Dimension::Percent).to_f64();
    let Some(found) = stepped(setup, signals, surfaces, answers, step) else { return };
    let Some(known) = out.channel(setup, found.elevator) else { return };
    let facts = [
        name("control", signals.name(found.control)),
        channel(found.elevator),
        channel_as("brake", found.brake.channel.value),
        percent("moves", Computed(found.percent, 0)),
    ];
    let sentence = "While {control} brings the brake on channel {brake} out evenly, the elevator on channel {channel} jumps by {moves} of the scale.";
    out.find(setup.in_model(known.header), "step", sentence, facts)
        .shown_by(signals.witness(&found.path))
        .other(setup.in_craft(found.brake.span), "the brake");
}
