//! A condition in words: whether some state in which it holds can occur.

use super::no_position;
use crate::fleet::condition::{Condition, ConditionKind};
use crate::fleet::{no_such, read_condition};
use crate::setup::{Setup, Signals};
use crate::signal::{Answer, Question};

/// What was answered.
#[derive(Clone, Debug)]
pub struct Asked {
    /// The answer.
    pub answer: Answer,
    /// The channels that the condition speaks of, also through its modes.
    pub channels: Vec<u8>,
}

/// Asks whether a state can occur in which a condition holds.
///
/// # Errors
/// What is wrong with the condition, in words.
pub fn ask(setup: &Setup<'_>, signals: &Signals, condition: &str) -> Result<Asked, String> {
    let written = read_condition(condition)
        .map_err(|(message, at)| format!("{message}, at character {}: {condition}", at + 1))?;
    if let Some(message) = not_there(setup, signals, &written) {
        return Err(message);
    }
    let asked = signals.lowered().condition(&written);
    let asked = asked.map_err(|_| "the condition names something that is not there".to_owned())?;
    Ok(Asked { answer: signals.program().ask(&Question::is(asked)), channels: told(setup, &written) })
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
                    Some(no_position(signals, control, &name.value, &position.value))
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
