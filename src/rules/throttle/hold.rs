//! `throttle/hold`: the throttle hold of a helicopter that does not hold, kills the collective, or is not looked at.

use crate::findings::Severity;
use crate::findings::fact::{channel, channel_as, name, text, word};
use crate::findings::hands::called;
use crate::fleet::words::Stick;
use crate::rules::arming::demand;
use crate::rules::out::{Out, insert};
use crate::setup::signals::is_still;
use crate::setup::{Hold, Motor, Setup, Signals};
use crate::signal::{Answer, Condition, Function, Measure, Movers, Question, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for (at, motor) in out.motors(setup).iter().enumerate() {
        let place = setup.in_model(motor.channel.header);
        let Some(stops) = out.stops(setup, signals, at) else { continue };
        let holds = match motor.holds(setup.model, signals, stops) {
            Ok(holds) => holds,
            Err(why) => {
                out.why(why, place);
                continue;
            }
        };
        for hold in &holds {
            works(setup, signals, motor, hold, out);
            lets_go(setup, signals, motor, hold, out);
        }
        let stopping: Vec<&Hold> = holds.iter().filter(|hold| hold.stops).collect();
        looked_at(setup, signals, motor, &stopping, out);
    }
}

/// What is wrong while the hold is on.
fn works(setup: &Setup<'_>, signals: &Signals, motor: &Motor<'_>, hold: &Hold, out: &mut Out<'_>) {
    let place = setup.in_model(motor.channel.header);
    let facts = || {
        [
            name("control", signals.name(hold.control)),
            text("position", signals.position_name(hold.control, hold.position)),
            channel(motor.number()),
        ]
    };
    if !hold.stops
        && let Some(runs) = motor.runs()
        && let Some(Answer::Yes(witness)) =
            out.ask(signals, &Question::is(Condition::All(vec![hold.is_on(), runs])), place)
    {
        let sentence =
            "The throttle hold is {control} at {position}, and the motor on channel {channel} can run there.";
        out.find(place, "not stopped", sentence, facts()).shown_by(signals.witness(&witness.path));
    }
    for collective in setup.collective_channels() {
        let place = setup.channel_place(collective);
        let mut range = |given: Condition| {
            let within = Within { given, ..Within::default() };
            out.range(signals, collective, Measure::Received, &within, place)
        };
        let mut still = |given| range(given).and_then(|reach| is_still(&reach));
        if still(hold.is_on()) == Some(true) && still(Condition::Not(Box::new(hold.is_on()))) == Some(false) {
            let [control, position, _] = facts();
            let sentence = "With the throttle hold on, {control} at {position}, the collective on channel {collective} does not move: the aircraft can't be brought down by its rotor.";
            out.find(place, "collective dead", sentence, [control, position, channel_as("collective", collective)])
                .other(setup.in_model(motor.channel.header), "the throttle with its hold");
        }
    }
}

/// Whether the hold lets go in the air, where the stick is not low: an autorotation has to be broken off with it.
fn lets_go(setup: &Setup<'_>, signals: &Signals, motor: &Motor<'_>, hold: &Hold, out: &mut Out<'_>) {
    // A motor that starts softly breaks off no autorotation anyway.
    let (Some(idles), Some(runs), None) = (motor.idles(), motor.runs(), motor.channel.full_sweep) else { return };
    let place = setup.in_model(motor.channel.header);
    let up = Condition::Not(Box::new(signals.throttle_low()));
    let aloft = Condition::All(vec![hold.is_on(), idles, up]);
    let question = Question::is(aloft).then(Movers::These(vec![hold.control]), runs);
    if !hold.stops
        || signals.stick(Function::Throttle).is_none()
        || out.decide(signals, &question, place) != Some(false)
    {
        return;
    }
    let facts = [
        name("control", signals.name(hold.control)),
        text("position", signals.position_name(hold.control, hold.position)),
        channel(motor.number()),
        word("stick", called(setup.hands().grip, Stick::Throttle)),
    ];
    let sentence = "The throttle hold, {control} at {position}, lets the motor on channel {channel} run again only with the {stick} low: an autorotation can't be broken off with it.";
    out.find(place, "waits for the stick", sentence, facts)
        .severity(Severity::Note)
        .reaches("with the stick up no movement of that switch starts the motor, proved")
        .mend_words("Let the hold let go at once, and let the start check ask for its position instead of a latch.");
}

/// Whether the hold stays where it is put, and the start check asks for it.
fn looked_at(setup: &Setup<'_>, signals: &Signals, motor: &Motor<'_>, holds: &[&Hold], out: &mut Out<'_>) {
    let Some(first) = holds.iter().find(|hold| signals.springs_to(hold.control).is_none()).or(holds.first()) else {
        return;
    };
    let control = name("control", signals.name(first.control));
    if signals.springs_to(first.control).is_some() {
        let sentence = "The throttle hold is on {control}, which springs back: the motor on channel {channel} starts again when the finger leaves it.";
        out.find(setup.in_model(motor.channel.header), "springs back", sentence, [control, channel(motor.number())])
            .severity(Severity::Caution);
        return;
    }
    if holds.iter().any(|hold| setup.demanded(signals, hold.control) == Some(hold.position)) {
        return;
    }
    let model = setup.model;
    let sentence = "No start check asks for the throttle hold, {control} at {position}.";
    let position = text("position", signals.position_name(first.control, first.position));
    let finding = out.find(setup.in_model(model.head.header), "unchecked", sentence, [control.clone(), position]);
    finding.severity(Severity::Caution);
    if setup.demanded(signals, first.control).is_none() {
        let statement = demand(signals, first.control, first.position);
        finding.mend_sure(format!("add `{statement}`"), vec![insert(&model.head, &model.head.body, &statement)]);
    } else {
        finding.mend_words("Let the start check ask for the position in which the motor stands still.");
    }
}
