//! `surfaces/at-start`: with the controls as the start check asks for them the gear is up, a release is open, or a brake is out or on.

use crate::findings::fact::{channel, name, text, us};
use crate::findings::hands::ends;
use crate::rules::out::Out;
use crate::setup::{Lever, Setup, Signals, Stands};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for part in setup.at_start(signals) {
        let number = part.surface.channel.value;
        let mut facts = vec![channel(number), us("sent", &part.pulse)];
        let mut at = |lever: Lever, rest: &str| {
            let control = signals.name(lever.control);
            facts.push(text("place", ends(setup.hands().grip, control)[usize::from(lever.is_high)]));
            facts.push(name("lever", control));
            let begin = if lever.is_asked {
                "The start check wants {lever} {place}"
            } else {
                "Let go, {lever} springs {place}"
            };
            [begin, ": there channel {channel} gets {sent} and ", rest].concat()
        };
        let (key, case, sentence, words) = match part.stands {
            Stands::GearUp => (
                "gear",
                "",
                "With the controls as the start check asks for them channel {channel} gets {sent}, and the gear is up.".to_owned(),
                "Let the start check ask for the position of the switch in which the gear is down, on a switch that stays there, or turn the channel round.",
            ),
            Stands::Open => (
                "release",
                "release",
                "With the controls at rest, and as the start check asks for them, channel {channel} gets {sent}, and the release is open.".to_owned(),
                "Turn the channel round (take a minus or `reversed` out, or put one in), or let the start check ask for the position in which the release is closed, where that is one in which its control rests.",
            ),
            Stands::Out(lever) => (
                "brake",
                "brake",
                at(lever, "what brakes is out; at the other end of the lever it is in."),
                "Turn the channel round (take a minus or `reversed` out, or put one in). Look at the surface first: if it is in, correct `high-is`.",
            ),
            Stands::On(lever) => (
                "brake on",
                "brake on",
                at(lever, "the brake is on; at the other end of the lever it is off."),
                "Turn the channel round (take a minus or `reversed` out, or put one in). Look at the brake first: if it is off, correct `high-is`.",
            ),
        };
        out.find(setup.channel_place(number), key, &sentence, facts)
            .case(case)
            .shown_by(signals.witness(&part.path))
            .other(setup.in_craft(part.surface.span), "which way it moves")
            .mend_words(words);
    }
}
