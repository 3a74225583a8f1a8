//! `throttle/cut-fails`: a line that is meant to cut the motor does not.

use crate::findings::fact::{channel, idles, us};
use crate::rules::out::{Out, remove, replace};
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup) {
        let Some(idle) = motor.idle else { continue };
        for cut in motor.failing_cuts() {
            let Some(pulse) = &cut.pulse else { continue };
            // A line that no state makes the one in force cuts nothing and harms nothing: `channels/dead-line` tells of it.
            let Some(in_force) = motor.line(signals, cut.at) else { continue };
            let place = setup.in_model(cut.line.span);
            let Some(Answer::Yes(witness)) = out.ask(signals, &Question::is(in_force), place) else { continue };
            let facts = [us("sent", pulse), channel(motor.number()), idles("idle", idle)];
            let lifting = motor.lifting_subtrim(setup.handset, cut.percent);
            let sentence = match lifting {
                Some(_) => {
                    "With the subtrim of channel {channel} this line sends {sent} and cuts nothing: idle is {idle}."
                }
                None => "This line sends {sent} on channel {channel} and cuts nothing: idle is {idle}.",
            };
            let finding = out.find(place, "cuts nothing", sentence, facts);
            finding.shown_by(signals.witness(&witness.path)).other(motor.place, "what counts as idle");
            match (lifting, motor.cutting_percent(setup.handset)) {
                (Some(span), _) => {
                    finding.other(setup.in_model(span), "the subtrim");
                    finding.mend_offer("take the subtrim out", vec![remove(&setup.model.head, span)]);
                }
                (None, Some(percent)) => {
                    let text = format!("{percent} %");
                    let edits = vec![replace(&setup.model.head, cut.line.value.span, text.clone())];
                    finding.mend_offer(format!("cut with {text}"), edits);
                }
                (None, None) => {
                    finding.mend_words("Give the line the value at which the motor stands still.");
                }
            }
        }
    }
}
