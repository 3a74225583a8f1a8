//! `throttle/one-motor-live`: the cut idles one motor and not another.

use crate::findings::fact::{channel, channel_as};
use crate::fleet::model::ValueLine;
use crate::rules::out::{Out, replace};
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Condition, Question};
use crate::source::Span;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let motors = out.motors(setup);
    if motors.len() < 2 {
        return;
    }
    let with = motors.iter().find_map(|motor| Some((motor, motor.cut(signals)?)));
    let Some((with, cut)) = with else { return };
    for motor in motors.iter().filter(|motor| motor.number() != with.number()) {
        let Some(runs) = motor.runs() else { continue };
        let place = setup.in_model(motor.channel.header);
        let question = Question::is(Condition::All(vec![cut.clone(), runs]));
        let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
        let lines: Vec<String> = with.channel.lines.iter().map(line).collect();
        let text = format!(" {{\n    {}\n  }}", lines.join("\n    "));
        let from = motor.channel.label.as_ref().map_or(motor.channel.number.span.end, |label| label.span.end);
        let to = motor.channel.body.map_or(motor.channel.header.end, |body| body.whole.end);
        let facts = [channel_as("idle_channel", with.number()), channel(motor.number())];
        let sentence = "The cut keeps channel {idle_channel} idle, and the motor on channel {channel} still runs.";
        out.find(place, "live", sentence, facts)
            .shown_by(signals.witness(&witness.path))
            .other(setup.in_model(with.channel.header), "the motor with the cut")
            .mend_sure(
                format!("give channel {} the lines of channel {}", motor.number(), with.number()),
                vec![replace(&setup.model.head, Span::new(from, to), text)],
            );
    }
}

fn line(line: &ValueLine) -> String {
    match &line.when {
        Some(when) => format!("value {} when {when}", line.value),
        None => format!("value {}", line.value),
    }
}
