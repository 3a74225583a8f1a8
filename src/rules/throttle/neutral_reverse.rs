//! `throttle/neutral-reverse`: where the throttle rests, a motor that can run backwards does not stand still.

use crate::findings::Severity;
use crate::findings::fact::{channel, us, word};
use crate::findings::hands::lowest;
use crate::fleet::Decimal;
use crate::rules::out::{Out, remove};
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals, throttle_at};
use crate::signal::{Answer, Condition, Function, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(stick) = signals.stick(Function::Throttle) else { return };
    for motor in out.motors(setup).iter().filter(|motor| motor.reversible) {
        let Some(still) = motor.stands_still(setup.handset) else { continue };
        let stated = setup.throttle_rest(motor);
        let rest = stated.unwrap_or(-100);
        let Some(there) = throttle_at(signals, rest) else { continue };
        let place = setup.in_model(motor.channel.header);
        // A motor that the throttle does not still runs by another control. One that follows the other sticks as well stands still
        // at the start.
        let moves = Condition::Not(Box::new(still.clone()));
        let question = Question::is(Condition::All(vec![there, moves])).then(Movers::These(vec![stick]), still);
        let question = centred(signals, question);
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
        let (key, severity, sentence) = match (stated, rest) {
            (None, _) => (
                "if it stays",
                Severity::Caution,
                "The motor on channel {channel} can run backwards. If your throttle stays where it is put, its lowest position sends {sent}, and the motor does not stand still there.",
            ),
            (Some(_), -100) => (
                "reverse",
                Severity::Danger,
                "The motor on channel {channel} can run backwards, and with the {lowest} it gets {sent}: reverse, not standstill.",
            ),
            (Some(_), _) => (
                "runs at rest",
                Severity::Danger,
                "The motor on channel {channel} can run backwards, and the throttle at rest sends {sent}: it does not stand still there.",
            ),
        };
        let finding = out.find(
            place,
            key,
            sentence,
            [channel(motor.number()), us("sent", &pulse), word("lowest", lowest(setup.hands().grip))],
        );
        finding
            .severity(severity)
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "a motor that can run backwards");
        match key {
            "reverse" => {
                finding.case("reverse");
            }
            "runs at rest" => match motor.lifting_subtrim(setup.handset, Decimal::whole(0)) {
                Some(span) => {
                    finding.mend_offer("take the subtrim out", vec![remove(&setup.model.head, span)]);
                }
                None => {
                    finding.mend_words(
                    "Let the throttle at rest send the middle of what the motor stands still at: look at the subtrim, the centre and the value of the channel.",
                    );
                }
            },
            _ => {}
        }
    }
}
