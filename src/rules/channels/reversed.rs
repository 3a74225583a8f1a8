//! `channels/reversed`: a function falls where its stick rises, or the other way round than the controller reads it.

use crate::findings::{Choice, Edit, Severity};
use crate::fleet::condition::ValueKind;
use crate::fleet::model::Channel;
use crate::rules::out::{Out, choice, insert, remove, replace};
use crate::setup::is_straight;
use crate::setup::{Setup, float};
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    for flight in setup.flights() {
        let (stick, channel) = (flight.function, flight.channel);
        let Some(known) = flight.known else { continue };
        if *flight.sticks != [stick] {
            continue;
        }
        let read = controller.reversed.iter().find(|reversed| reversed.value == stick);
        let falls = if is_straight(setup.model, known) {
            false
        } else {
            let Some(signals) = setup.signals() else { return };
            match flight.seen(signals).ends.first() {
                Some(ends) if float(&ends.low) != float(&ends.high) => ends.high < ends.low,
                _ => continue,
            }
        };
        if falls == read.is_some() {
            continue;
        }
        let word = stick.word();
        let (severity, message) = match read {
            Some(_) => (
                Severity::Danger,
                format!(
                    "The controller reads {word} the other way round, and channel {channel} rises with the {word} stick."
                ),
            ),
            None => (
                Severity::Caution,
                format!(
                    "Channel {channel} falls where the {word} stick rises. Check it with the propellers off: does the controller show {word} the way the stick goes?"
                ),
            ),
        };
        let mut choices = vec![turn(setup, known)];
        if let Some(read) = read {
            let whole = Span::new(read.span.start.saturating_sub("reversed ".len() as u32), read.span.end);
            choices.push(choice(
                "the controller reads it straight: take `reversed` out of its description",
                vec![remove(&setup.craft.head, whole)],
            ));
        } else {
            let edit = insert(&setup.craft.head, &controller.body, &format!("reversed {word}"));
            choices.push(choice(
                format!("the controller reads {word} the other way round: say so in its description"),
                vec![edit],
            ));
        }
        let finding = out.find_text(setup.in_model(known.header), message).severity(severity);
        if let Some(read) = read {
            finding.other(setup.in_craft(read.span), "read the other way round");
        }
        finding.mend_choices(
            "Turn the channel round in the model, or correct what the description says of the controller.",
            choices,
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
            let (start, end) = (line.value.span.start, line.value.span.end);
            let before = |text| replace(head, Span::new(start, start), text);
            match line.value.kind {
                ValueKind::Control(_) => vec![before("-")],
                _ => vec![before("-("), replace(head, Span::new(end, end), ")")],
            }
        }
        (None, None, None) => Vec::new(),
    };
    choice(format!("turn channel {} round in the model", channel.number.value), edits)
}
