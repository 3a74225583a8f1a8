//! `throttle/too-high`: the stick is at its lowest, and the throttle is not idle.

use crate::findings::Severity;
use crate::findings::fact::{channel, idles as idle_is, us, word};
use crate::findings::hands::lowest;
use crate::rules::out::{Out, remove};
use crate::setup::{Motor, Setup, Signals, Stop, resting};
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for (at, motor) in out.motors(setup).iter().enumerate().filter(|(_, motor)| !motor.reversible) {
        if let Some(stops) = out.stops(setup, signals, at) {
            let_go(setup, signals, out, motor, stops);
        }
        let (Some(idles), Some(runs), Some(idle)) = (motor.idles(), motor.runs(), motor.idle) else { continue };
        let Some(rest) = setup.throttle_rest(motor) else { continue };
        let rested = |question, trim| resting(signals, question, rest, trim);
        let place = setup.in_model(motor.channel.header);
        // With the trims centred: is there any state that idles? If not, the channel itself is too high.
        let Some(still) = rested(Question::is(idles), false) else { continue };
        let never = out.decide(signals, &still, place) == Some(false);
        if !never {
            // Only a trim may lift it then; what another control does has a rule of its own.
            let Some(untrimmed) = rested(Question::is(runs.clone()), false) else { continue };
            if out.decide(signals, &untrimmed, place) != Some(false) {
                continue;
            }
        }
        let Some(question) = rested(Question::is(runs), !never) else { continue };
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let Some(pulse) = motor.pulse(signals, &witness.path) else { continue };
        let turned = never && motor.turned(setup, signals, &witness.path).is_some();
        let (key, severity, sentence) = match never {
            true if turned => (
                "turned",
                if setup.craft.controller.is_none() { Severity::Danger } else { Severity::Caution },
                "With the {lowest}, channel {channel} reads {reads}, more than with it at its highest, and idle is {idle}: the throttle is turned round.",
            ),
            true => (
                "never idle",
                Severity::Caution,
                "With the {lowest}, channel {channel} reads {reads}, and idle is {idle}.",
            ),
            false => (
                "trim",
                Severity::Note,
                "With the {lowest} and its trim up, channel {channel} reads {reads}, and idle is {idle}.",
            ),
        };
        let facts = [
            channel(motor.number()),
            us("reads", &pulse),
            idle_is("idle", idle),
            word("lowest", lowest(setup.hands().grip)),
        ];
        let finding = out.find(place, key, sentence, facts);
        finding
            .severity(severity)
            .case(case_of(setup))
            .shown_by(signals.witness(&witness.path))
            .other(motor.place, "what counts as idle");
        if turned {
            finding.mend_words("Turn the sign of the throttle in the channel's value, or take `reversed` out of it.");
            continue;
        }
        let take_out = |span| vec![remove(&setup.model.head, span)];
        if !never {
            finding.mend_words("Turn the trims off, at least that of the throttle: `trims throttle off`.");
        } else if let Some(subtrim) = motor.channel.subtrim {
            finding.mend_offer("take the subtrim out", take_out(subtrim.span));
        } else if let Some(travel) = motor.channel.travel {
            finding.mend_offer("take the travel out, so that the whole way counts", take_out(travel.span));
        } else if let Some(centre) = motor.channel.centre {
            finding.mend_offer("take the centre out", take_out(centre.span));
        } else {
            finding.mend_words(
                "Let the lowest place of the throttle send what the motor idles at, with the value, the rate or the curve of the channel. If the speed control was taught anew, correct what counts as idle.",
            );
        }
    }
}

/// Without a controller that refuses to make it live the motor simply runs.
fn case_of(setup: &Setup<'_>) -> &'static str {
    if setup.craft.controller.is_none() { "no controller" } else { "" }
}

/// A helicopter's motor stands still in its throttle hold. With that let go the lowest stick has to idle it too, where the motor
/// follows the stick.
fn let_go(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>, motor: &Motor<'_>, stops: &[Stop]) {
    let Some([still, runs]) = setup.let_go(signals, motor, stops) else { return };
    let place = setup.in_model(motor.channel.header);
    if out.decide(signals, &still, place) != Some(false) {
        return;
    }
    let Some(Answer::Yes(witness)) = out.ask(signals, &runs, place) else { return };
    let (Some(pulse), Some(idle)) = (motor.pulse(signals, &witness.path), motor.idle) else { return };
    if !motor.follows_throttle(signals, &witness.path) {
        return;
    }
    let facts = [channel(motor.number()), us("reads", &pulse), idle_is("idle", idle)];
    let sentence = "With the throttle hold let go and the stick at its lowest, channel {channel} reads {reads}, and idle is {idle}.";
    let written = motor.written_at(setup.model, signals, &witness.path);
    out.find(setup.in_model(written), "let go", sentence, facts)
        .shown_by(signals.witness(&witness.path))
        .other(motor.place, "what counts as idle")
        .case(case_of(setup))
        .mend_words("Let the curve begin where the motor idles.");
}
