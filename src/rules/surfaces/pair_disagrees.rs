//! `surfaces/pair-disagrees`: roll moves both sides of a pair as brakes, flaps or pitch do.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel_as, text, us};
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::surfaces::alike_surfaces;
use crate::setup::surfaces::pairs::{disagrees, pairs};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    let alike = alike_surfaces(setup, signals);
    for pair in pairs(surfaces) {
        let (left, right) = (pair.left.channel.value, pair.right.channel.value);
        // Two mixes that are the same have a rule of their own.
        let is_alike = |channels: [u8; 2]| channels.contains(&left) && channels.contains(&right);
        if alike.iter().any(|alike| is_alike(alike.surfaces.map(|surface| surface.channel.value))) {
            continue;
        }
        let Some(found) = disagrees(answers, pair) else { continue };
        let Some(known) = out.channel(setup, right) else { continue };
        let (held, mut facts) = with(answers, signals, found.together.state);
        let [a, b] = found.roll;
        facts.extend([
            channel_as("left_channel", left),
            channel_as("right_channel", right),
            us("left_from", Computed(a.low, 1)),
            us("left_to", Computed(a.high, 1)),
            us("right_from", Computed(b.low, 1)),
            us("right_to", Computed(b.high, 1)),
            text("together", if found.together.stick.is_some() { "the pitch stick" } else { "these controls" }),
        ]);
        let rest = "roll moves channel {left_channel} from {left_from} to {left_to} and channel {right_channel} from {right_from} to {right_to}, to the same side as {together} move both: one of the two works against itself.";
        out.find(setup.in_model(known.header), "one way", &sentence(held, rest), facts)
            .shown_by(shown(answers, signals, found.together.state, Some(Stick::Roll)))
            .other(setup.channel_place(left), "the other surface of the pair")
            .other(setup.in_craft(pair.right.span), "what the surfaces are to do");
    }
}
