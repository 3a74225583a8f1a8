//! `surfaces/no-middle`: the switch between hover and flight has a position without a mode, or is not checked before the start.

use crate::findings::fact::{channel, name, text};
use crate::rules::out::Out;
use crate::setup::surfaces::hover::changes;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for found in changes(setup, signals) {
        let Some(known) = out.channel(setup, found.channel) else { continue };
        let control = signals.name(found.control);
        for (position, path) in &found.empty {
            let facts = [
                name("control", control),
                text("position", signals.position_name(found.control, *position)),
                channel(found.channel),
            ];
            let sentence = "With {control} at {position}, channel {channel} turns on none of its modes: whether the aircraft hovers or flies then is not said.";
            out.find(setup.in_model(known.header), "no mode", sentence, facts)
                .shown_by(signals.witness(path))
                .other(setup.in_craft(found.mode), "the modes of the channel");
        }
        if !found.is_checked {
            let facts = [name("control", control)];
            let sentence = "{control} changes between hover and flight, and no start check asks where it stands.";
            out.find(setup.in_model(known.header), "not checked", sentence, facts)
                .other(setup.in_craft(found.mode), "the modes of the channel");
        }
    }
}
