//! `surfaces/adverse`: the rudder that goes with the ailerons goes against the turn.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channels, percent};
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::surfaces::mixes::adverse;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for found in adverse(setup, surfaces, answers) {
        let parts: Vec<_> = found.lever.surfaces().collect();
        let Some(first) = parts.first() else { continue };
        let Some(known) = out.channel(setup, first.channel.value) else { continue };
        let (held, mut facts) = with(answers, signals, found.state);
        facts.extend([
            channels("channels", parts.iter().map(|surface| surface.channel.value)),
            percent("part", Computed(found.percent, 0)),
        ]);
        let rest = "the whole roll stick to the right moves channel {channels} as {part} of the yaw stick to the left does: the rudder works against the turn.";
        let finding = out.find(setup.in_model(known.header), "against", &sentence(held, rest), facts);
        finding.shown_by(shown(answers, signals, found.state, Some(Stick::Roll)));
        for surface in parts {
            finding.other(setup.in_craft(surface.span), "what the channel moves");
        }
    }
}
