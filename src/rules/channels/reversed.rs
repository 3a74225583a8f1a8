//! `channels/reversed`: a function falls where its stick rises, or the other way round than the controller reads it.

use crate::findings::fact::{channel, text};
use crate::findings::{Choice, Edit, Severity};
use crate::fleet::model::Channel;
use crate::rules::out::{Out, choice, insert, remove, replace};
use crate::setup::Setup;
use crate::setup::terms::is_plain_control;
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    for flight in setup.flights() {
        let (Some(known), Some(falls)) = (out.channel(setup, flight.channel), setup.falls(flight)) else { continue };
        let read = controller.reversed.iter().find(|reversed| reversed.value == flight.function);
        if falls == read.is_some() {
            continue;
        }
        let word = flight.function.word();
        let (key, severity, sentence, correct) = match read {
            Some(read) => (
                "rises",
                Severity::Danger,
                "The controller reads {function} the other way round, and channel {channel} rises with the {function} stick.",
                choice(
                    "the controller reads it straight: take `reversed` out of its description",
                    vec![remove(&setup.craft.head, read.span)],
                ),
            ),
            None => (
                "falls",
                Severity::Caution,
                "Channel {channel} falls where the {function} stick rises. Check it with the propellers off: does the controller show {function} the way the stick goes?",
                choice(
                    format!("the controller reads {word} the other way round: say so in its description"),
                    vec![insert(&setup.craft.head, &controller.body, &format!("reversed {word}"))],
                ),
            ),
        };
        let facts = [text("function", word), channel(flight.channel)];
        let finding = out.find(setup.in_model(known.header), key, sentence, facts).severity(severity);
        if let Some(read) = read {
            finding.other(setup.in_craft(read.span), "read the other way round");
        }
        finding.mend_choices(
            "Turn the channel round in the model, or correct what the description says of the controller.",
            vec![turn(setup, known), correct],
        );
    }
}

/// The choice that turns a channel round.
fn turn(setup: &Setup<'_>, channel: &Channel) -> Choice {
    let head = &setup.model.head;
    let edits: Vec<Edit> = match (channel.reversed, &channel.body, channel.lines.first()) {
        (Some(reversed), ..) => vec![remove(head, reversed)],
        (None, Some(body), _) => vec![insert(head, body, "reversed")],
        (None, None, Some(line)) => {
            let Span { start, end } = line.value.span;
            let before = |text| replace(head, Span::new(start, start), text);
            match is_plain_control(setup.model, &line.value) {
                true => vec![before("-")],
                false => vec![before("-("), replace(head, Span::new(end, end), ")")],
            }
        }
        (None, None, None) => Vec::new(),
    };
    choice(format!("turn channel {} round in the model", channel.number.value), edits)
}
