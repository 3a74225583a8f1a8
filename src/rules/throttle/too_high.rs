//! `throttle/too-high`: the stick is at its lowest, and the throttle is not idle.

use super::{lowest, motors};
use crate::findings::Severity;
use crate::rules::out::{Out, remove};
use crate::rules::wording::us;
use crate::setup::{Setup, float};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for motor in motors(setup).into_iter().filter(|motor| !motor.reversible) {
        let (Some(idles), Some(runs), Some(signals)) = (motor.idles(), motor.runs(), setup.signals()) else { continue };
        let place = setup.in_model(motor.channel.header);
        // With the trims centred: is there any state that idles? If not, the channel itself is too high.
        let Some(idle) = lowest(signals, Question::is(idles), false) else { continue };
        let never = out.decide(signals, &idle, place) == Some(false);
        let question = match never {
            true => lowest(signals, Question::is(runs.clone()), false),
            false => {
                // Only a trim may lift it then; what another control does has a rule of its own.
                let Some(still) = lowest(signals, Question::is(runs.clone()), false) else { continue };
                if out.decide(signals, &still, place) != Some(false) {
                    continue;
                }
                lowest(signals, Question::is(runs.clone()), true)
            }
        };
        let Some(question) = question else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let reading = signals.program().play(&witness.path);
        let Some(pulse) = reading.channel(motor.number()).and_then(|seen| seen.received.as_ref()) else { continue };
        let Some(idle) = motor.idle else { continue };
        let how = if never {
            "With the throttle stick at its lowest"
        } else {
            "With the throttle stick at its lowest and its trim up"
        };
        let message =
            format!("{how}, channel {} reads {}, and idle is below {idle} us.", motor.number(), us(float(pulse)));
        let finding = out.find(place, message);
        finding
            .severity(if never { Severity::Caution } else { Severity::Note })
            .shown_by(signals.witness(&witness.path));
        finding.other(motor.place, "what counts as idle");
        if never {
            if let Some(subtrim) = motor.channel.subtrim {
                finding.mend_sure("take the subtrim out", vec![remove(&setup.model.head, subtrim.span)]);
            } else if let Some(travel) = motor.channel.travel {
                finding.mend_sure(
                    "take the travel out, so that the whole way counts",
                    vec![remove(&setup.model.head, travel.span)],
                );
            } else if let Some(centre) = motor.channel.centre {
                finding.mend_sure("take the centre out", vec![remove(&setup.model.head, centre.span)]);
            }
        } else {
            finding.mend_words("Turn the trims off, at least that of the throttle: `trims throttle off`.");
        }
    }
}
