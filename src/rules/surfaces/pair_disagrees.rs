//! `surfaces/pair-disagrees`: roll moves both sides of a pair as brakes, flaps or pitch do.

use super::{sentence, shown, standing, way_of, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel_as, text, us};
use crate::findings::hands::right_or_away;
use crate::rules::out::Out;
use crate::setup::surfaces::alike_surfaces;
use crate::setup::surfaces::pairs::{apart, disagrees, pairs};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    let alike = alike_surfaces(setup, signals);
    let Some(start) = answers.at_start(&setup.demands(signals)) else { return };
    for pair in pairs(surfaces) {
        let (left, right) = (pair.left.channel.value, pair.right.channel.value);
        // Two mixes that are the same have a rule of their own.
        let is_alike = |channels: [u8; 2]| channels.contains(&left) && channels.contains(&right);
        if alike.iter().any(|alike| is_alike(alike.surfaces.map(|surface| surface.channel.value))) {
            continue;
        }
        let Some(found) = disagrees(surfaces, answers, start, pair) else {
            if let Some(moved) = apart(surfaces, answers, start, pair) {
                let Some(known) = out.channel(setup, right) else { continue };
                let (held, mut facts) = standing(answers, signals, moved.state);
                facts.extend([
                    channel_as("left_channel", left),
                    channel_as("right_channel", right),
                    text("left_goes", way_of(pair.left, moved.way[0] > 0.0)),
                    text("right_goes", way_of(pair.right, moved.way[1] > 0.0)),
                    us("left_by", Computed(moved.way[0].abs(), 1)),
                    us("right_by", Computed(moved.way[1].abs(), 1)),
                ]);
                let rest = "the left surface on channel {left_channel} goes {left_goes} by {left_by}, and the right one on channel {right_channel} {right_goes} by {right_by}.";
                out.find(setup.in_model(known.header), "apart", &sentence(held, rest), facts)
                    .shown_by(shown(answers, signals, moved.state, None))
                    .other(setup.channel_place(left), "the other surface of the pair")
                    .other(setup.in_craft(pair.right.span), "what the surfaces are to do");
            }
            continue;
        };
        let Some(known) = out.channel(setup, right) else { continue };
        let state = found.together.state;
        let (held, mut facts) = match found.together.stick {
            Some(_) => with(answers, signals, state),
            None => standing(answers, signals, state),
        };
        let by = |us: f64| Computed(us, 1);
        facts.extend([
            channel_as("left_channel", left),
            channel_as("right_channel", right),
            us("left_goes", by(found.together.way[0])),
            us("right_goes", by(found.together.way[1])),
            us("left_by", by(found.by[0])),
            us("right_by", by(found.by[1])),
            text("stick", right_or_away(setup.hands().grip, found.against)),
        ]);
        let rest = match found.together.stick {
            Some(_) => {
                "the pitch stick away from you moves channel {left_channel} by {left_goes} and channel {right_channel} by {right_goes}, and {stick} moves them by {left_by} and {right_by}, which is the same movement: pitch has to move both sides alike, and the other stick against each other."
            }
            None => {
                "channel {left_channel} goes by {left_goes} and channel {right_channel} by {right_goes}, and {stick} moves them by {left_by} and {right_by}, which is the same movement: this position has to move both sides alike, and the stick against each other."
            }
        };
        out.find(setup.in_model(known.header), "one way", &sentence(held, rest), facts)
            .shown_by(shown(answers, signals, state, Some(found.against)))
            .other(setup.channel_place(left), "the other surface of the pair")
            .other(setup.in_craft(pair.right.span), "what the surfaces are to do");
    }
}
