//! What the parts of a sheet say in the same words.

use crate::findings::coverage::{Row, Standing};
use crate::findings::hands;
use crate::findings::verdict::{AircraftVerdict, Verdict};
use crate::fleet::Decimal;
use crate::fleet::model::{AlarmKind, Model};
use crate::report::plain::plain;
use crate::report::totals::counted;
use crate::report::witness::number;
use crate::setup::{Setup, Signals};
use crate::sheet::Page;
use crate::signal::{ControlId, Setting};
use std::borrow::Cow;

/// A text of a file, with nothing in it that moves, turns or hides.
pub(super) fn text(text: &str) -> Cow<'_, str> {
    plain(text)
}

/// What a channel is called: the pilot's word for it, else what the aircraft reads there, with the side of a surface or motor.
pub fn label(setup: &Setup<'_>, channel: u8) -> String {
    let own =
        setup.model.channel(channel).and_then(|channel| channel.label.as_ref()).map(|label| label.value.to_string());
    let read = || setup.used().find(|(known, ..)| *known == channel).map(|(_, what, _)| what.to_string());
    let surfaces = setup.craft.surfaces.as_ref();
    let surface = surfaces.and_then(|it| it.channels.iter().find(|surface| surface.channel.value == channel)?.side);
    let motor = surfaces.and_then(|it| it.motors.iter().find(|motor| motor.channel.value == channel)?.side);
    let side = surface.or(motor).map_or("", |side| side.value.word());
    let name = own.or_else(read).unwrap_or_default();
    text(&if side.is_empty() || name.contains(side) { name } else { format!("{side} {name}") }).into_owned()
}

/// Where a control stands or goes: `up`, or of an axis `high (left stick all the way up)`.
pub(super) fn position(setup: &Setup<'_>, signals: &Signals, control: ControlId, at: Setting) -> String {
    let name = signals.name(control);
    match at {
        Setting::Position(at) => text(&signals.position_name(control, at)).into_owned(),
        Setting::Percent(percent) => {
            if let Some(words) = hands::at(setup.hands(), name, percent) {
                return words;
            }
            let [low, high] = hands::ends(setup.hands().grip, name);
            match percent.near() {
                place if place <= -100.0 => format!("all the way {low}"),
                place if place >= 100.0 => format!("all the way {high}"),
                0.0 => "in its middle".to_owned(),
                place => format!("at {} %", number(place)),
            }
        }
    }
}

/// A control with where it stands: `left-front up`, `throttle (left stick all the way down)`.
pub(super) fn standing(page: &Page<'_, '_>, signals: &Signals, (control, at): (ControlId, Setting)) -> String {
    let words = position(page.setup, signals, control, at);
    let name = signals.name(control);
    let is_stick = matches!(at, Setting::Percent(percent) if hands::at(page.setup.hands(), name, percent).is_some());
    // The words of a stick say which one it is only where its side is stated.
    if is_stick { format!("{} ({words})", text(name)) } else { format!("{} {words}", text(name)) }
}

/// What an inspection says of an aircraft, as the report has it: `nothing found in 61 of 64`.
pub fn verdict(verdict: &AircraftVerdict, row: Option<&Row>) -> String {
    let words = match (verdict.verdict, row) {
        (Verdict::NothingFound, Some(row)) => {
            format!("{} in {} of {}", verdict.verdict.words(), row.count(Standing::Clear), row.applicable())
        }
        (other, _) => other.words().to_owned(),
    };
    let counts = counted(&verdict.counts);
    if counts.is_empty() { words } else { format!("{words}: {counts}") }
}

/// A time in seconds as pilots say it: `2 min 30 s`.
pub(super) fn time(seconds: f64) -> String {
    let whole = seconds.round().max(0.0) as u64;
    match (whole / 60, whole % 60) {
        (0, _) => format!("{} s", number(seconds)),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

/// Seconds as they are stated.
pub(super) fn seconds(time: Decimal) -> String {
    format!("{time} s")
}

/// What an alarm of a model is.
pub(super) fn alarm(kind: &AlarmKind) -> String {
    match kind {
        AlarmKind::LinkQuality(at) => format!("link quality below {} %", at.value),
        AlarmKind::Signal(at) => format!("signal below {} dBm", at.value),
        AlarmKind::Battery { voltage, per_cell, under_load } => {
            let cell = if *per_cell { " a cell" } else { "" };
            let how = match under_load {
                Some(true) => ", motors running",
                Some(false) => ", motors at rest",
                None => "",
            };
            format!("battery below {} V{cell}{how}", voltage.value)
        }
    }
}

/// The receiver numbers of a model's bays that are on: `4 (built-in)`.
pub(super) fn numbers(model: &Model) -> String {
    let one = |module: &crate::fleet::model::ModelModule| {
        let number = module.receiver_number.map_or_else(|| "not stated".to_owned(), |number| number.value.to_string());
        format!("{number} ({})", text(&module.bay.value))
    };
    let all: Vec<String> = model.modules_on().map(one).collect();
    if all.is_empty() { "no module is on".to_owned() } else { all.join(", ") }
}
