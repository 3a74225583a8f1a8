//! `walkaround trace --ask`: a question about every reachable state.

use super::Arguments;
use crate::command_line::Status;
use crate::command_line::output::{self, Form, no_such, wrong_usage};
use crate::findings::caution::{Caution, before_the_bench};
use crate::fleet::condition::{Condition, ConditionKind};
use crate::fleet::read_condition;
use crate::report::json::{to_writer, witness_value};
use crate::report::plain::plain;
use crate::report::witness::in_words;
use crate::setup::Setup;
use crate::setup::Signals;
use crate::signal::{Answer, Question};
use serde_json::json;
use std::time::Instant;

pub(super) fn ask(arguments: &Arguments, pair: &Setup<'_>, signals: &Signals, condition: &str) -> Status {
    let written = match read_condition(condition) {
        Ok(written) => written,
        Err((message, at)) => return wrong_usage(&format!("--ask: {message}, at character {}: {condition}", at + 1)),
    };
    if let Some(message) = not_there(pair, signals, &written) {
        return wrong_usage(&format!("--ask: {message}"));
    }
    let Ok(asked) = signals.lowered().condition(&written) else {
        return wrong_usage("--ask: the condition names something that is not there");
    };
    let begun = Instant::now();
    let answer = signals.program().ask(&Question::is(asked));
    let took = begun.elapsed().as_micros() as u64;
    let (word, witness, states, why) = match &answer {
        Answer::Yes(witness) => ("yes", Some(signals.witness(&witness.path)), None, None),
        Answer::No(proof) => ("no", None, Some(proof.regions), None),
        Answer::NotDecided(why) => ("undecided", None, None, Some(why.to_string())),
    };
    let status = if word == "undecided" { Status::Found } else { Status::Clean };
    output::write(status, |out| match arguments.form {
        Form::Json => {
            let value = json!({
                "answer": word,
                "witness": witness.as_ref().map(witness_value),
                "states": states,
                "took_us": took,
                "why": why,
            });
            to_writer(&value, out)
        }
        Form::Text => {
            match (&witness, &why) {
                (Some(witness), _) => writeln!(out, "yes: {}", plain(&in_words(witness, &told(pair, &written))))?,
                (None, Some(why)) => writeln!(out, "undecided: {}", plain(why))?,
                (None, None) => {
                    writeln!(out, "no: proved for all positions of all controls, in whatever order they are moved")?
                }
            }
            writeln!(out, "{}", before_the_bench([Caution::of(pair.craft)]))
        }
    })
}

/// The channels that a condition speaks of, also through its modes.
fn told(pair: &Setup<'_>, condition: &Condition) -> Vec<u8> {
    let mut channels = Vec::new();
    condition.walk(&mut |condition| match &condition.kind {
        ConditionKind::Channel { channel, .. } => channels.push(channel.value),
        ConditionKind::Mode(name) => {
            let mode = pair.craft.controller.as_ref().and_then(|controller| controller.mode(&name.value));
            channels.extend(mode.iter().flat_map(|mode| mode.channels()));
        }
        _ => {}
    });
    channels
}

/// What a condition names that is not there, with what is.
fn not_there(pair: &Setup<'_>, signals: &Signals, condition: &Condition) -> Option<String> {
    let lowered = signals.lowered();
    let controls = || signals.program().parts().controls.iter().map(|control| control.name.as_str());
    let modes: Vec<&str> =
        pair.craft.controller.iter().flat_map(|it| &it.modes).map(|it| it.name.value.as_str()).collect();
    let mut message = None;
    condition.walk(&mut |condition| {
        let wrong = match &condition.kind {
            ConditionKind::Mode(name) if lowered.mode(&name.value).is_none() => {
                Some(no_such("mode", &name.value, modes.iter().copied()))
            }
            ConditionKind::Axis { axis: name, .. } if lowered.control(&name.value).is_none() => {
                Some(no_such("control", &name.value, controls()))
            }
            ConditionKind::Position { control: name, position, .. } => match lowered.control(&name.value) {
                None => Some(no_such("control", &name.value, controls())),
                Some(control) if lowered.position(control, &position.value).is_none() && position.value != "low" => {
                    let count = signals.positions(control);
                    let names: Vec<_> = (0..count).map(|at| signals.position_name(control, at)).collect();
                    Some(format!(
                        "\"{}\" has no position \"{}\"; it has {}",
                        name.value,
                        position.value,
                        names.join(", ")
                    ))
                }
                Some(_) => None,
            },
            ConditionKind::Channel { channel, .. } if pair.model.channel(channel.value).is_none() => {
                Some(format!("the model does not define channel {}", channel.value))
            }
            ConditionKind::Named(name) if pair.model.condition(&name.value).is_none() => {
                let known = pair.model.conditions.iter().map(|known| known.name.value.as_str());
                Some(no_such("condition", &name.value, known.chain(controls())))
            }
            _ => None,
        };
        if message.is_none() {
            message = wrong;
        }
    });
    message
}
