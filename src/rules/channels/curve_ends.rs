//! `channels/curve-ends`: a curve ends before its stick does, or never takes a brake fully in.

use crate::findings::fact::{channel, name, percent};
use crate::rules::out::Out;
use crate::setup::curves::{WrongEnd, curve_ends};
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for found in curve_ends(setup, signals) {
        let mut facts = vec![name("curve", found.curve.name.value.clone()), channel(found.channel)];
        let (key, sentence) = match found.wrong {
            WrongEnd::Short(at, stays) => {
                facts.extend([percent("at", at), percent("stays", stays)]);
                (
                    "short",
                    "The curve {curve} of channel {channel} has no point beyond {at} of the stick: from there to its end it stays at {stays}.",
                )
            }
            WrongEnd::NeverIn(least) => {
                facts.push(percent("least", least));
                (
                    "never in",
                    "The curve {curve} of channel {channel} gives no less than {least} at either end of its lever: the brake or flap is never fully in.",
                )
            }
        };
        out.find(setup.in_model(found.curve.header), key, sentence, facts)
            .other(setup.channel_place(found.channel), "where it is used");
    }
}
