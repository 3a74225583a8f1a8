//! `throttle/jump`: one movement of a switch, with the sticks still, lifts a motor from idle.

use super::{latched, motors};
use crate::findings::{Choice, Severity};
use crate::fleet::Dimension;
use crate::fleet::condition::{ConditionKind, ValueKind};
use crate::rules::out::{Out, choice};
use crate::rules::wording::us;
use crate::setup::signals::above;
use crate::setup::{Setup, float, number};
use crate::signal::{Answer, Condition, Measure, Movers, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    let Some((centre, span)) = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value) else {
        return;
    };
    for motor in motors(setup).into_iter().filter(|motor| !motor.reversible) {
        // With one line and no switch in its value nothing can jump.
        let simple = motor.channel.lines.len() == 1
            && motor
                .channel
                .lines
                .iter()
                .all(|line| line.when.is_none() && matches!(line.value.kind, ValueKind::Control(_)));
        let (Some(idles), Some(signals)) = (motor.idles().filter(|_| !simple), setup.signals()) else { continue };
        let place = setup.in_model(motor.channel.header);
        // A share of the whole range from the lowest to the highest pulse of the handset's scale.
        let limit = number(centre) - number(span) + number(span) * number(share) / 50;
        let lifted = Condition::Channel(motor.number(), Measure::Received, above(limit));
        let cut = motor.cut(setup, signals);
        let not = |condition: &Condition| Condition::Not(Box::new(condition.clone()));
        let asks = signals.asks();
        let worst = {
            let from = Condition::All(vec![idles.clone(), cut.as_ref().map_or(Condition::Constant(true), not)]);
            let to = Condition::All(vec![lifted.clone(), asks.clone().unwrap_or(Condition::Constant(true))]);
            Question::is(from).then(Movers::SwitchesAndButtons, to)
        };
        // What a helicopter's throttle hold or idle-up does is asked for before the start.
        let checked = super::is_checked_helicopter(setup);
        let (severity, witness) = match out.ask(signals, &worst, place) {
            Some(Answer::Yes(witness)) => (if checked { Severity::Caution } else { Severity::Danger }, witness),
            None => continue,
            Some(_) => {
                let any = Question::is(idles).then(Movers::SwitchesAndButtons, lifted);
                match out.ask(signals, &any, place) {
                    Some(Answer::Yes(witness)) => (Severity::Caution, witness),
                    _ => continue,
                }
            }
        };
        let path = witness.path_then(0);
        let (before, after) = (signals.program().play(&witness.path), signals.program().play(&path));
        let pulse =
            |reading: &crate::signal::Reading| Some(us(float(reading.channel(motor.number())?.received.as_ref()?)));
        let (Some(from), Some(to)) = (pulse(&before), pulse(&after)) else { continue };
        let message = format!(
            "One movement of a switch, with the sticks still, lifts channel {} from {from} to {to}.",
            motor.number()
        );
        let choices = latch(setup, &motor);
        out.find(place, message).severity(severity).shown_by(signals.witness(&path)).mend_choices(
            "Let the switch act only with a low stick: a latch that needs `throttle low` to let go.",
            choices,
        );
    }
}

/// For a cut of two lines on one switch: the latch that needs a low stick.
fn latch(setup: &Setup<'_>, motor: &super::Motor<'_>) -> Vec<Choice> {
    let [cut, other] = motor.channel.lines.as_slice() else { return Vec::new() };
    let (Some(when), None, Some(_)) = (&cut.when, &other.when, super::constant(&cut.value)) else { return Vec::new() };
    let ConditionKind::Position { control, position, becomes: false } = &when.kind else { return Vec::new() };
    let Some(kind) = setup.handset.and_then(|handset| handset.control(&control.value)).map(|control| control.kind)
    else {
        return Vec::new();
    };
    if kind.positions() != 2 {
        return Vec::new();
    }
    let Some(off) = kind.position(&position.value) else { return Vec::new() };
    let on = kind.position_name(1 - off);
    let edits = latched(setup, motor.channel, &control.value, &position.value, &on, &other.value.to_string());
    vec![choice(format!("let the motor live only once \"{}\" goes {on} with a low stick", control.value), edits)]
}
