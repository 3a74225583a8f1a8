//! `surfaces/reversed`: a stick moves a surface the wrong way.

use super::{sentence, shown, way_of, with};
use crate::findings::fact::{channel, text};
use crate::findings::hands::right_or_away;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, turned};
use crate::rules::wording::with_caution;
use crate::setup::surfaces::directions::reversed;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for found in reversed(setup, surfaces, answers) {
        let surface = found.surface;
        let Some(known) = out.channel(setup, surface.channel.value) else { continue };
        let rises = found.answer.gain() > 0.0;
        let (held, mut facts) = with(answers, signals, found.state);
        facts.extend([
            channel(surface.channel.value),
            text("stick", right_or_away(setup.hands().grip, found.stick)),
            text("goes", way_of(surface, rises)),
            text("right_way", way_of(surface, !rises)),
        ]);
        let rest = "{stick} moves the surface on channel {channel} {goes}: it has to go {right_way}.";
        let choices = if found.entirely { vec![turned(setup, known)] } else { Vec::new() };
        let case = match found.stick {
            _ if setup.craft.stays_down() => "steers",
            Stick::Yaw => "yaw",
            _ => "",
        };
        out.find(setup.in_model(known.header), "reversed", &sentence(held, rest), facts)
            .case(case)
            .shown_by(shown(answers, signals, found.state, Some(found.stick)))
            .other(setup.in_craft(surface.span), "which way the surface goes")
            .mend_choices(
                with_caution(setup, "Look at the surface first. If it does go the wrong way, turn the channel round in the model; if it goes the right way, correct `high-is`."),
                choices,
            );
    }
}
