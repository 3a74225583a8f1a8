//! `channels/missing`: a function that the aircraft needs is moved by no control.

use crate::findings::Severity;
use crate::findings::fact::{FactValue, Joined, channel, list, text};
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, replace};
use crate::setup::surfaces::{Lacking, lacking};
use crate::setup::{Setup, moves, only_percent};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    lacks(setup, out);
    // What moves a channel does not hang on the link.
    let Some(signals) = setup.signals() else { return };
    // A stick that moves its channel, as two states show, need not be asked about.
    let moved =
        setup.flights().iter().filter(|flight| flight.seen(signals).ends.iter().any(|ends| ends.low != ends.high));
    let moved: Vec<u8> = moved.map(|flight| flight.channel).collect();
    let mut functions: Vec<(Stick, u8)> = setup.functions().filter(|(_, number)| !moved.contains(number)).collect();
    for surface in setup.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels) {
        let number = surface.channel.value;
        let sticks = surface.functions.iter().filter_map(|name| Stick::find(&name.value));
        functions.extend(sticks.filter(|&stick| !moves(signals, stick, number)).map(|stick| (stick, number)));
    }
    for (function, number) in functions {
        let Some(known) = out.channel(setup, number) else { continue };
        let place = setup.in_model(known.header);
        // Only what is decided is a statement.
        if out.moved_by(signals, number, place).is_none_or(|movers| !movers.is_empty()) {
            continue;
        }
        let word = function.word();
        let choices = only_percent(known).map(|value| {
            let edit = replace(&setup.model.head, value.span, word);
            choice(format!("put the {word} stick on channel {number}"), vec![edit])
        });
        let facts = [text("function", word), channel(number)];
        let sentence = "The aircraft reads {function} from channel {channel}, and no control moves that channel.";
        out.find(place, "unmoved", sentence, facts)
            .severity(Severity::Danger)
            .mend_choices("Give the channel the stick that belongs to it.", choices.into_iter().collect());
    }
}

/// A function that an aircraft of this kind can't do without, and that none of its surfaces has.
fn lacks(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(Lacking { surfaces, functions }) = lacking(setup.craft) else { return };
    let functions = functions.iter().map(|stick| FactValue::Text(stick.word().into()));
    let facts = [list("functions", Joined::Or, functions)];
    out.find(setup.in_craft(surfaces.header), "no surface", "No surface of this aircraft has {functions}.", facts);
}
