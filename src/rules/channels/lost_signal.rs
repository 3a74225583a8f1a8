//! `channels/lost-signal`: a pulse that the controller takes for a lost link.

use crate::findings::fact::{channel, number, text, us};
use crate::rules::out::{Out, replace};
use crate::setup::{Setup, Signals, ValidPulses};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for (used, what, _) in setup.used() {
        let Some(known) = out.channel(setup, used) else { continue };
        let Some(pulses) = ValidPulses::of(setup, known).filter(|pulses| !pulses.hold_travel()) else { continue };
        let place = setup.in_model(known.header);
        for outside in pulses.outside() {
            let question = Question::received(u16::from(used), outside);
            let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
            let reading = signals.program().play(&witness.path);
            let Some(seen) = reading.channel(u16::from(used)).and_then(|seen| seen.received.as_ref()) else { continue };
            let facts = [
                channel(used),
                text("what", what.to_string()),
                us("reads", seen),
                number("valid_from", pulses.valid.value.0),
                us("valid_to", pulses.valid.value.1),
            ];
            let sentence = "Channel {channel} ({what}) can read {reads}, outside {valid_from} to {valid_to}: the controller takes that for a lost link.";
            let finding = out.find(place, "outside", sentence, facts);
            finding
                .shown_by(signals.witness(&witness.path))
                .other(setup.in_craft(pulses.valid.span), "the pulses that count as a signal");
            if let (Some(travel), Some((least, most))) = (known.travel, pulses.travel()) {
                let text = format!("travel {least}..{most} %");
                finding.mend_offer(format!("write `{text}`"), vec![replace(&setup.model.head, travel.span, text)]);
            }
            break;
        }
    }
}
