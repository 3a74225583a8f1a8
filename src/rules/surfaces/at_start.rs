//! `surfaces/at-start`: with the controls as the start check asks for them the gear is up, a release is open, or a brake is out.

use crate::findings::fact::{channel, name, us};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals, Stands};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for part in setup.at_start(signals) {
        let number = part.surface.channel.value;
        let mut facts = vec![channel(number), us("sent", &part.pulse)];
        let (key, sentence, words) = match part.stands {
            Stands::GearUp => (
                "gear",
                "With the controls as the start check asks for them channel {channel} gets {sent}, and the gear is up.",
                "Let the start check ask for the position of the switch in which the gear is down.",
            ),
            Stands::Open => (
                "release",
                "With the controls at rest, and as the start check asks for them, channel {channel} gets {sent}, and the release is open.",
                "Turn the channel round, or let the start check ask for the position in which the release is closed.",
            ),
            Stands::Out => {
                facts.extend(part.lever.map(|lever| name("lever", signals.name(lever))));
                (
                    "brake",
                    "Where the start check wants {lever}, channel {channel} gets {sent} and what brakes is out; at the other end of the lever it is in.",
                    "Turn the lever round, or let the start check ask for its other end. Look at the surface first.",
                )
            }
        };
        out.find(setup.channel_place(number), key, sentence, facts)
            .shown_by(signals.witness(&part.path))
            .other(setup.in_craft(part.surface.span), "which way it moves")
            .mend_words(words);
    }
}
