//! `surfaces/one-side`: one surface of a pair moves, and the other not, or much less.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel_as, percent, text, us};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::surfaces::pairs::{one_side, pairs};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let share = out.parameter("share", Dimension::Percent);
    let answers = signals.answers(surfaces);
    let Some(start) = answers.at_start(&setup.demands(signals)) else { return };
    for pair in pairs(surfaces) {
        let Some(found) = one_side(surfaces, answers, start, pair, share.to_f64()) else { continue };
        let (more, less) = (found.more.channel.value, found.less.channel.value);
        let Some(known) = out.channel(setup, less) else { continue };
        let (held, mut facts) = with(answers, signals, found.state);
        let by = found.stick.map_or_else(|| "this position".to_owned(), |stick| format!("the {} stick", stick.word()));
        facts.extend([
            text("by", by),
            channel_as("more_channel", more),
            channel_as("less_channel", less),
            us("more", Computed(found.way[0], 1)),
            us("less", Computed(found.way[1], 1)),
            percent("share", share),
        ]);
        let rest = "{by} moves channel {more_channel} by {more} and channel {less_channel}, on the other side, by {less}, less than {share} of it.";
        out.find(setup.in_model(known.header), "less", &sentence(held, rest), facts)
            .shown_by(shown(answers, signals, found.state, found.stick))
            .other(setup.channel_place(more), "the surface that goes further")
            .other(setup.in_craft(found.less.span), "what the surfaces are to do");
    }
}
