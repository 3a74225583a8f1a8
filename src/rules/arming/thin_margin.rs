//! `arming/thin-margin`: a position reads close to an edge of a mode's range.

use crate::findings::fact::{channel, name, us};
use crate::fleet::Dimension;
use crate::rules::out::{Out, choice, replace};
use crate::setup::terms::follows_an_axis;
use crate::setup::{NearEdge, Setup, Signals};
use crate::signal::{Answer, Exact, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let margin = out.parameter("margin", Dimension::Pulse);
    let modes = setup.craft.controller.iter().flat_map(|controller| &controller.modes);
    for (mode, test) in modes.flat_map(|mode| mode.tests().map(move |test| (mode, test))) {
        let (number, wide) = (test.channel.value, u16::from(test.channel.value));
        let Some(known) = out.channel(setup, number) else { continue };
        let edges = NearEdge::of(test, margin);
        // Where none of all pulses that could arrive is near an edge there is nothing to ask.
        if signals.program().never_arrives(wide, &|pulse: &Exact| edges.iter().any(|edge| edge.holds(pulse))) {
            continue;
        }
        // An axis crosses every edge on its way: only positions that stay are meant. In a condition an axis only
        // chooses among them.
        let Some(movers) = out.moved_by(signals, number, setup.in_model(known.header)) else { continue };
        if movers.is_empty() || follows_an_axis(setup.model, signals, number) {
            continue;
        }
        let place = setup.in_craft(mode.span);
        for edge in edges {
            let Some(Answer::Yes(witness)) = out.ask(signals, &Question::received(wide, edge.near), place) else {
                continue;
            };
            let reading = signals.program().play(&witness.path);
            let Some(pulse) = reading.channel(wide).and_then(|seen| seen.received.as_ref()) else { continue };
            let facts = [
                channel(number),
                us("reads", pulse),
                us("edge", edge.edge),
                us("margin", margin),
                name("mode", mode.name.value.clone()),
            ];
            let sentence = "A position of the model reads {reads} on channel {channel}, and mode {mode} has its edge at {edge}: less than {margin} apart.";
            let moved = edge.moved(test, signals, &movers, pulse);
            let finding = out.find(place, if edge.upper { "upper edge" } else { "lower edge" }, sentence, facts);
            finding
                .shown_by(signals.witness(&witness.path))
                .other(setup.in_model(known.header), "the channel that reads so");
            match moved {
                Some(text) => finding.mend_choices(
                    "Put the edge half-way between two positions, here and in the flight controller itself.",
                    vec![choice(
                        format!("let the mode count from {text}"),
                        vec![replace(&setup.craft.head, test.range.span, text)],
                    )],
                ),
                None => finding.mend_words(
                    "Every position of the channel turns the mode on. Give the channel a position that does not, well away from the range; a wider range would only hide it.",
                ),
            };
        }
    }
}
