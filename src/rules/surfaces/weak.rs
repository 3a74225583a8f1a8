//! `surfaces/weak`: a position of some control leaves a surface next to nothing of its way.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, percent, text, us};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::surfaces::answers::own_sticks;
use crate::setup::surfaces::directions::weak;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let share = out.parameter("share", Dimension::Percent).to_f64();
    let answers = signals.answers(surfaces);
    for surface in &surfaces.channels {
        let number = surface.channel.value;
        // A collective that is dead in the throttle hold has a rule of its own, and so has what a controller reads.
        if setup.flights().iter().any(|flight| flight.channel == number) {
            continue;
        }
        let sticks = own_sticks(setup, surfaces, surface).into_iter().filter(|stick| *stick != Stick::Throttle);
        for found in sticks.filter_map(|stick| weak(answers, number, stick, share)) {
            let Some(known) = out.channel(setup, number) else { continue };
            let (held, mut facts) = with(answers, signals, found.state);
            facts.extend([
                channel(number),
                text("stick", called(setup.hands().grip, found.stick)),
                us("from", Computed(found.answer.low, 1)),
                us("to", Computed(found.answer.high, 1)),
                percent("left", Computed(found.percent, 0)),
            ]);
            let rest = "the whole way of the {stick} moves channel {channel} only from {from} to {to}: {left} of what it does at best.";
            out.find(setup.in_model(known.header), "weak", &sentence(held, rest), facts)
                .shown_by(shown(answers, signals, found.state, Some(found.stick)))
                .other(setup.in_craft(surface.span), "what the channel moves");
        }
    }
}
