//! `channels/off-centre`: a centred stick does not read as centred.

use crate::findings::fact::{channel, text, us, word};
use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, remove};
use crate::setup::stick_way::{CENTRE_US, Centre, centred, is_scale_centred};
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let deadband = setup.craft.controller.as_ref().and_then(|controller| controller.deadband);
    let allowed = deadband.map_or_else(|| out.parameter("allow", Dimension::Pulse), |deadband| deadband.value);
    let centre = Centre::within(allowed);
    for flight in setup.flights() {
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() || flight.function == Stick::Throttle {
            continue;
        }
        let Some(known) = out.channel(setup, flight.channel) else { continue };
        let number = u16::from(flight.channel);
        if signals.program().centred(number).is_some_and(|pulse| centre.holds(&pulse)) {
            continue;
        }
        let place = setup.in_model(known.header);
        for bounds in centre.off() {
            // A stick that is mixed in has a rule of its own: all that have a centre are kept there.
            let question = centred(signals, Question::received(number, bounds));
            let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
            let reading = signals.program().play(&witness.path);
            let Some(pulse) = reading.channel(number).and_then(|seen| seen.received.as_ref()) else { continue };
            let (key, cause, culprit) = match (known.subtrim, known.centre) {
                (Some(stated), _) => {
                    ("subtrim", "the subtrim makes it so", Some(("take the subtrim out", stated.span)))
                }
                (None, Some(stated)) => {
                    ("centre", "the centre makes it so", Some(("take the centre out", stated.span)))
                }
                (None, None) if !is_scale_centred(setup) => ("scale", "the handset's scale is not centred there", None),
                (None, None) => ("value", "the value, its curve or the levels of the link make it so", None),
            };
            let facts = [
                text("function", flight.function.word()),
                us("reads", pulse),
                channel(flight.channel),
                us("centre", CENTRE_US),
                word("cause", cause),
                us("allowed", allowed),
            ];
            let sentence = "With the stick centred, {function} reads {reads} on channel {channel} instead of {centre}: {cause}; up to {allowed} off counts as centred.";
            let finding = out.find(place, key, sentence, facts).shown_by(signals.witness(&witness.path));
            if let Some((label, span)) = culprit {
                // It may be there on purpose.
                let choices = vec![choice(label, vec![remove(&setup.model.head, span)])];
                finding.mend_choices("Let the centred stick read as the centre.", choices);
            }
            break;
        }
    }
}
