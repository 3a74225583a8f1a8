//! `surfaces/at-start`: with the controls as the start check asks for them the gear is up, a release is open, or a brake is out or on.

use crate::findings::fact::{channel, name, text, us};
use crate::findings::hands::ends;
use crate::rules::out::Out;
use crate::setup::{Lever, Setup, Signals, Stands};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for part in setup.at_start(signals) {
        let number = part.surface.channel.value;
        let mut facts = vec![channel(number), us("sent", &part.pulse)];
        let mut at = |lever: Lever| {
            let control = signals.name(lever.control);
            facts.push(text("place", ends(setup.hands().grip, control)[usize::from(lever.is_high)]));
            facts.push(name("lever", control));
        };
        let (key, case, sentence, words) = match part.stands {
            Stands::GearUp => (
                "gear",
                "",
                "With the controls as the start check asks for them channel {channel} gets {sent}, and the gear is up.",
                "Let the start check ask for the position of the switch in which the gear is down, on a switch that stays there, or turn the channel round.",
            ),
            Stands::Open => (
                "release",
                "release",
                "With the controls at rest, and as the start check asks for them, channel {channel} gets {sent}, and the release is open.",
                "Turn the channel round, or let the start check ask for the position in which the release is closed.",
            ),
            Stands::Out(lever) => {
                at(lever);
                let sentence = match lever.is_asked {
                    true => {
                        "The start check wants {lever} {place}: there channel {channel} gets {sent} and what brakes is out; at the other end of the lever it is in."
                    }
                    false => {
                        "Let go, {lever} springs {place}: there channel {channel} gets {sent} and what brakes is out; at the other end of the lever it is in."
                    }
                };
                (
                    "brake",
                    "brake",
                    sentence,
                    "Turn the lever round, or let the start check ask for its other end. Look at the surface first.",
                )
            }
            Stands::On(lever) => {
                at(lever);
                let sentence = match lever.is_asked {
                    true => {
                        "The start check wants {lever} {place}: there channel {channel} gets {sent} and the brake is on; at the other end of the lever it is off."
                    }
                    false => {
                        "Let go, {lever} springs {place}: there channel {channel} gets {sent} and the brake is on; at the other end of the lever it is off."
                    }
                };
                (
                    "brake on",
                    "brake on",
                    sentence,
                    "Turn the channel round, or let the start check ask for the other end of the lever. Look at the brake first.",
                )
            }
        };
        out.find(setup.channel_place(number), key, sentence, facts)
            .case(case)
            .shown_by(signals.witness(&part.path))
            .other(setup.in_craft(part.surface.span), "which way it moves")
            .mend_words(words);
    }
}
