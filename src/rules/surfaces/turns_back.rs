//! `surfaces/turns-back`: flaps go out and come back over a switch, or a collective turns back on the way of its stick.

use super::{sentence, with};
use crate::findings::Severity;
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{Fact, channel, name, percent, text, us};
use crate::rules::out::Out;
use crate::setup::surfaces::positions::{Back, collective_back, flaps_back};
use crate::setup::{Setup, Signals};
use crate::signal::Setting;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for (state, found) in collective_back(surfaces, signals, answers) {
        let Some(known) = out.channel(setup, found.surface.channel.value) else { continue };
        let (held, mut facts) = with(answers, signals, state);
        facts.extend(pulses(&found));
        if let [_, Setting::Percent(at), _] = found.at {
            facts.push(percent("stick", Computed(at.near(), 0)));
        }
        let rest = "the collective on channel {channel} is at {first} with its stick at the bottom, at {second} with the stick at {stick}, and at {third} with the stick at the top: it turns back.";
        out.find(setup.in_model(known.header), "collective", &sentence(held, rest), facts)
            .case("collective")
            .shown_by(signals.witness(&found.path))
            .other(setup.in_craft(found.surface.span), "what the channel moves");
    }
    for found in flaps_back(surfaces, signals, answers) {
        let Some(known) = out.channel(setup, found.surface.channel.value) else { continue };
        let mut facts = pulses(&found);
        facts.push(name("control", signals.name(found.control)));
        for (fact, at) in ["first_at", "second_at", "third_at"].into_iter().zip(found.at) {
            if let Setting::Position(position) = at {
                facts.push(text(fact, signals.position_name(found.control, position)));
            }
        }
        let sentence = "Over the positions of {control} the flap on channel {channel} goes out and comes back: {first} at {first_at}, {second} at {second_at}, {third} at {third_at}.";
        out.find(setup.in_model(known.header), "flaps", sentence, facts)
            .severity(Severity::Caution)
            .shown_by(signals.witness(&found.path))
            .other(setup.in_craft(found.surface.span), "what the channel moves");
    }
}

fn pulses(found: &Back<'_>) -> Vec<Fact> {
    let [first, second, third] = found.pulses.map(|pulse| Computed(pulse, 1));
    vec![channel(found.surface.channel.value), us("first", first), us("second", second), us("third", third)]
}
