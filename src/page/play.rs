//! What is so after some movements.

use crate::asking;
use crate::findings::{Setting, Witness};
use crate::fleet::in_quotes;
use crate::report::json::{round, state_value};
use crate::report::plain::plain;
use crate::report::traced::stands;
use crate::report::witness::way;
use crate::setup::live::{Live, drawn_along};
use crate::setup::trace::reading;
use crate::setup::{Setup, Signals};
use crate::signal::{Handle, Setting as Place};
use serde_json::{Value, json};

/// Everything that can be read, the same as `trace --as json` says, and what is seen of motors and surfaces. `shorter` says that
/// the last movement takes the place of the one before.
pub(super) fn value(setup: &Setup<'_>, signals: &Signals, set: &[String], then: &[String]) -> Result<Value, String> {
    let path = asking::path(signals, set, then)?;
    let shorter = drawn_along(signals, &path);
    let is_shorter = shorter.is_some();
    let path = shorter.unwrap_or(path);
    let witness = signals.witness(&path);
    let live = Live::at(setup, signals, &path);
    let end = path.end();
    let places = signals.program().controls().filter_map(|(id, _)| {
        Some(match end.get(Handle::Control(id))? {
            Place::Position(at) => json!(at),
            Place::Percent(percent) => json!(percent.near()),
        })
    });
    let trims = signals.program().controls().filter_map(|(id, _)| match end.get(Handle::Trim(id))? {
        Place::Percent(percent) => Some(percent.near()),
        Place::Position(_) => None,
    });
    let surfaces = live.surfaces.iter().map(|(surface, percent)| {
        let words = percent.map(|percent| stands(surface.high_is.map(|way| way.value), percent));
        json!({"channel": surface.channel.value, "percent": percent.map(round), "words": words})
    });
    let motors = live
        .motors
        .iter()
        .map(|motor| json!({"channel": motor.channel, "still": motor.still, "percent": motor.percent.map(round)}));
    Ok(json!({
        "state": state_value(setup, &reading(setup, signals, &path), &witness),
        "shorter": is_shorter,
        "way": plain(&way(&witness)),
        "places": places.collect::<Vec<_>>(),
        "trims": trims.collect::<Vec<_>>(),
        "asks_to_arm": live.asks_to_arm,
        "motors": motors.collect::<Vec<_>>(),
        "surfaces": surfaces.collect::<Vec<_>>(),
    }))
}

/// The start and the movements of a witness, as [`asking::path`] takes them.
pub(super) fn texts(witness: &Witness) -> (Vec<String>, Vec<String>) {
    let mut steps = witness.path.iter();
    let set = steps.next().into_iter().flatten().map(written).collect();
    let then = steps.map(|step| step.iter().map(written).collect::<Vec<_>>().join(", ")).collect();
    (set, then)
}

/// The same as a value.
pub(super) fn moves(witness: &Witness) -> Value {
    let (set, then) = texts(witness);
    json!({"set": set, "then": then})
}

fn written((name, at): &(impl AsRef<str>, Setting)) -> String {
    let name = in_quotes(name.as_ref());
    match at {
        Setting::Position(position) => format!("{name}={position}"),
        Setting::Percent(percent) => format!("{name}={}", percent.text()),
        Setting::Wait(seconds) => format!("wait {seconds} s"),
    }
}
