//! `channels/reversed`: a function falls where its stick rises, or the other way round than the controller reads it.

use crate::findings::Severity;
use crate::findings::fact::{channel, text};
use crate::findings::hands::called;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, insert, remove, turned};
use crate::setup::Setup;

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
                "The controller reads {function} the other way round, and channel {channel} rises with the {stick}.",
                choice(
                    "the controller reads it straight: take `reversed` out of its description",
                    vec![remove(&setup.craft.head, read.span)],
                ),
            ),
            None => (
                "falls",
                Severity::Caution,
                "Channel {channel} falls where the {stick} rises. Check it with the propellers off: does the controller show {function} the way the stick goes?",
                choice(
                    format!("the controller reads {word} the other way round: say so in its description"),
                    vec![insert(&setup.craft.head, &controller.body, &format!("reversed {word}"))],
                ),
            ),
        };
        let facts = [
            text("function", word),
            text("stick", called(setup.hands().grip, flight.function)),
            channel(flight.channel),
        ];
        let finding = out.find(setup.in_model(known.header), key, sentence, facts).severity(severity);
        finding.case(match flight.function {
            Stick::Pitch => "pitch",
            Stick::Yaw => "yaw",
            Stick::Roll | Stick::Throttle => "",
        });
        if let Some(read) = read {
            finding.other(setup.in_craft(read.span), "read the other way round");
        }
        finding.mend_choices(
            "Turn the channel round in the model, or correct what the description says of the controller.",
            vec![turned(setup, known), correct],
        );
    }
}
