//! What is sent and received, in words.

use super::witness::number;
use crate::fleet::model::{NamedCondition, NamedKind};
use crate::setup::trace::Pulses;

/// From the least to the greatest pulse.
pub fn span(pulses: Pulses) -> String {
    match pulses {
        Pulses::Open(_) => "not decided".to_owned(),
        Pulses::Never => "never".to_owned(),
        Pulses::Between(low, high) if (high - low).abs() < 0.05 => number(low),
        Pulses::Between(low, high) => format!("{} to {}", number(low), number(high)),
    }
}

/// From the least to the greatest share, in percent.
pub fn share(value: Pulses) -> String {
    if value.range().is_some() { format!("{} %", span(value)) } else { span(value) }
}

/// What moves a channel or a mix.
pub fn movers(moved_by: &Result<Vec<String>, String>) -> String {
    match moved_by {
        Err(why) => format!("what moves it is not decided: {why}"),
        Ok(names) if names.is_empty() => "nothing moves it".to_owned(),
        Ok(names) => format!("moved by {}", names.join(", ")),
    }
}

/// What a named condition is.
pub fn condition(condition: &NamedCondition) -> String {
    match &condition.kind {
        NamedKind::When(when) => format!("when {when}"),
        NamedKind::Latch { set, reset } => format!("from {set} until {reset}"),
        NamedKind::Toggle { control, position } => {
            let position = position.as_ref().map_or("pressed", |position| position.value.as_str());
            format!("turns over each time {} becomes {position}", crate::fleet::quoted(&control.value))
        }
        NamedKind::Reported => "on or off, as telemetry tells".to_owned(),
    }
}
