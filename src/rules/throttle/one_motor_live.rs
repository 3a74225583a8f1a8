//! `throttle/one-motor-live`: the cut idles one motor and not another.

use crate::findings::fact::{channel, channel_as};
use crate::fleet::model::ValueLine;
use crate::rules::out::{Out, replace};
use crate::setup::{Motor, Setup, Signals, Stop};
use crate::signal::{Answer, Condition, Question};
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let motors = out.motors(setup);
    let mut cuts: Vec<(&Motor<'_>, &[Stop], Option<Condition>)> = Vec::new();
    for (at, motor) in motors.iter().enumerate() {
        let Some(stops) = out.stops(setup, signals, at) else { return };
        let states = stops.iter().map(Stop::is_on).chain(motor.cut(signals));
        let cut = Some(Condition::Any(states.collect())).filter(|_| !stops.is_empty() || motor.cut(signals).is_some());
        cuts.push((motor, stops, cut));
    }
    let Some((with, own, Some(cut))) = cuts.iter().find(|(_, _, cut)| cut.is_some()) else { return };
    for (motor, stops, _) in cuts.iter().filter(|(motor, ..)| motor.number() != with.number()) {
        let Some(runs) = motor.runs() else { continue };
        // Motors with cuts of their own can all be kept still, such as the lift and the thrust of a hovercraft.
        if own.iter().any(|own| stops.iter().any(|stop| stop.agrees_with(own))) {
            continue;
        }
        let place = setup.in_model(motor.channel.header);
        // A line that is meant as its cut and fails has a rule of its own.
        let failing = motor.failing_cuts().filter_map(|line| motor.line(signals, line.at));
        let others = failing.map(|line| Condition::Not(Box::new(line)));
        let question = Question::is(Condition::All([cut.clone(), runs].into_iter().chain(others).collect()));
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let facts = [channel_as("idle_channel", with.number()), channel(motor.number())];
        let sentence = "The cut keeps channel {idle_channel} idle, and the motor on channel {channel} still runs.";
        let finding = out.find(place, "live", sentence, facts);
        finding
            .shown_by(signals.witness(&witness.path))
            .other(setup.in_model(with.channel.header), "the motor with the cut");
        // What idles one motor idles the other only where both idle alike; and what moves it else must stay.
        let alike = with.idle == motor.idle && with.reversible == motor.reversible;
        let moved = |line: &ValueLine| line.value.to_string();
        let kept = |line: &ValueLine| with.channel.lines.iter().any(|own| moved(own) == moved(line));
        if alike && motor.channel.lines.iter().all(kept) {
            let lines: Vec<String> = with.channel.lines.iter().map(line).collect();
            let text = format!(" {{\n    {}\n  }}", lines.join("\n    "));
            let from = motor.channel.label.as_ref().map_or(motor.channel.number.span.end, |label| label.span.end);
            let to = motor.channel.body.map_or(motor.channel.header.end, |body| body.whole.end);
            finding.mend_offer(
                format!("give channel {} the lines of channel {}", motor.number(), with.number()),
                vec![replace(&setup.model.head, Span::new(from, to), text)],
            );
        } else {
            finding.mend_words("Give this motor the same cut, with the value at which it stands still.");
        }
    }
}

fn line(line: &ValueLine) -> String {
    match &line.when {
        Some(when) => format!("value {} when {when}", line.value),
        None => format!("value {}", line.value),
    }
}
