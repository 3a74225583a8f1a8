//! `channels/lost-signal`: a pulse that the controller takes for a lost link.

use crate::findings::Witness;
use crate::findings::fact::{channel, channels, number, text, us};
use crate::fleet::model::Channel;
use crate::rules::out::{Out, replace};
use crate::setup::{Setup, Signals, ValidPulses};
use crate::signal::{Answer, Exact, Question};

/// From so many channels on the range itself is told of: one line of the controller's is likelier wrong than all of them.
const MANY: usize = 3;

/// A channel that can leave the range.
struct Leaves<'f> {
    known: &'f Channel,
    what: String,
    reads: Exact,
    pulses: ValidPulses,
    shown: Witness,
}

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let mut found = Vec::new();
    for (used, what, _) in setup.used() {
        let Some(known) = out.channel(setup, used) else { continue };
        let Some(pulses) = ValidPulses::of(setup, known).filter(|pulses| !pulses.hold_travel()) else { continue };
        for outside in pulses.outside() {
            let question = Question::received(u16::from(used), outside);
            let Some(Answer::Yes(witness)) = out.ask(signals, &question, setup.in_model(known.header)) else {
                continue;
            };
            let reading = signals.program().play(&witness.path);
            let Some(seen) = reading.channel(u16::from(used)).and_then(|seen| seen.received.clone()) else { continue };
            found.push(Leaves {
                known,
                what: what.to_string(),
                reads: seen,
                pulses,
                shown: signals.witness(&witness.path),
            });
            break;
        }
    }
    match found.as_slice() {
        [first, ..] if found.len() >= MANY => of_many(setup, first, &found, out),
        few => few.iter().for_each(|leaves| of_one(setup, leaves, out)),
    }
}

fn of_one(setup: &Setup<'_>, leaves: &Leaves<'_>, out: &mut Out<'_>) {
    let Leaves { known, pulses, .. } = leaves;
    let facts = [
        channel(known.number.value),
        text("what", leaves.what.clone()),
        us("reads", &leaves.reads),
        number("valid_from", pulses.valid.value.0),
        us("valid_to", pulses.valid.value.1),
    ];
    let sentence = "Channel {channel} ({what}) can read {reads}, outside {valid_from} to {valid_to}: the controller takes that for a lost link.";
    let finding = out.find(setup.in_model(known.header), "outside", sentence, facts);
    finding
        .shown_by(leaves.shown.clone())
        .other(setup.in_craft(pulses.valid.span), "the pulses that count as a signal");
    if let (Some(travel), Some((least, most))) = (known.travel, pulses.travel()) {
        let text = format!("travel {least}..{most} %");
        finding.mend_offer(format!("write `{text}`"), vec![replace(&setup.model.head, travel.span, text)]);
    }
}

fn of_many(setup: &Setup<'_>, first: &Leaves<'_>, all: &[Leaves<'_>], out: &mut Out<'_>) {
    let valid = first.pulses.valid;
    let facts = [
        channels("channels", all.iter().map(|leaves| leaves.known.number.value)),
        channel(first.known.number.value),
        text("what", first.what.clone()),
        us("reads", &first.reads),
        number("valid_from", valid.value.0),
        us("valid_to", valid.value.1),
    ];
    let sentence = "Channels {channels} can leave {valid_from} to {valid_to}, which the controller takes for a lost link: channel {channel} ({what}) can read {reads}, for example.";
    let finding = out.find(setup.in_craft(valid.span), "many", sentence, facts);
    finding.shown_by(first.shown.clone());
    for leaves in all {
        finding.other(setup.in_model(leaves.known.header), "it can leave the range");
    }
    finding.mend_words(
        "Read off the controller again which pulses it takes for a signal; if they are these, shorten the travel of the channels.",
    );
}
