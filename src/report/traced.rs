//! What is sent and received, in words.

use super::witness::number;
use crate::fleet::model::{NamedCondition, NamedKind};
use crate::fleet::words::Way;
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

/// Where a surface stands: which way, where the description says it, else at or towards which end of its pulses.
pub fn stands(way: Option<Way>, percent: f64) -> String {
    let size = rounded(percent).abs();
    let (above, below) = match way {
        _ if size == 0.0 => return "stands in its middle".to_owned(),
        None => {
            let end = if percent > 0.0 { "high" } else { "low" };
            return match size as i64 {
                100 => format!("stands at the {end} end of its pulses"),
                _ => format!("stands {size} % of the way from its middle to the {end} end of its pulses"),
            };
        }
        Some(Way::Up) => ("up", "down"),
        Some(Way::Down) => ("down", "up"),
        Some(Way::Left) => ("to the left", "to the right"),
        Some(Way::Right) => ("to the right", "to the left"),
        Some(Way::Open) => ("open", "closed"),
        Some(Way::On) => ("on", "off"),
    };
    format!("stands {size} % {}", if percent > 0.0 { above } else { below })
}

/// Which way it goes, and how far of its travel.
pub fn goes(way: Option<Way>, percent: f64) -> String {
    let size = rounded(percent).abs();
    let rises = percent > 0.0;
    match way {
        Some(Way::Up | Way::Down) => {
            let up = rises == (way == Some(Way::Up));
            format!("{} {size} %", if up { "rises" } else { "falls" })
        }
        Some(Way::Left | Way::Right) => {
            let right = rises == (way == Some(Way::Right));
            format!("goes {size} % {}", if right { "right" } else { "left" })
        }
        Some(Way::Open) => format!("{} {size} %", if rises { "opens" } else { "closes" }),
        Some(Way::On) => format!("goes {size} % {}", if rises { "on" } else { "off" }),
        None => format!("its pulse {} {size} %", if rises { "rises" } else { "falls" }),
    }
}

/// Which way it goes, in a word.
pub const fn heads(way: Way, rises: bool) -> &'static str {
    match (way, rises) {
        (Way::Up, true) | (Way::Down, false) => "rises",
        (Way::Up, false) | (Way::Down, true) => "falls",
        (Way::Right, true) | (Way::Left, false) => "goes right",
        (Way::Right, false) | (Way::Left, true) => "goes left",
        (Way::Open, true) => "opens",
        (Way::Open, false) => "closes",
        (Way::On, true) => "goes on",
        (Way::On, false) => "goes off",
    }
}

/// A share as it is told.
pub fn rounded(percent: f64) -> f64 {
    percent.round()
}
