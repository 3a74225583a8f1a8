//! What the surfaces do in each flight mode, in words and as JSON.

use crate::findings::hands::ends;
use crate::fleet::words::{Grip, Way};
use crate::report::plain::plain;
use crate::report::traced::{goes, rounded, stands};
use crate::setup::surfaces::seen::{FlightMode, InView, flight_modes};
use crate::setup::trace::Traced;
use crate::setup::{Setup, Signals};
use serde_json::{Value, json};
use std::io::{self, Write};

/// The flight modes of an aircraft; none where the handset moves no surface of it.
fn modes<'f>(setup: &Setup<'f>, signals: &Signals) -> Vec<FlightMode<'f>> {
    setup.craft.surfaces.as_ref().map_or_else(Vec::new, |surfaces| flight_modes(signals, surfaces))
}

/// Writes what the surfaces do.
pub(super) fn write(setup: &Setup<'_>, signals: &Signals, table: &[Traced], out: &mut dyn Write) -> io::Result<()> {
    let modes = modes(setup, signals);
    if modes.iter().all(|mode| mode.surfaces.is_empty()) {
        return Ok(());
    }
    writeln!(out, "\nWhat the surfaces do, in percent of the way from the middle to the end of the pulses:")?;
    for mode in &modes {
        let held: Vec<String> = mode.held.iter().map(|(control, at)| format!("{control} {at}")).collect();
        if !held.is_empty() {
            writeln!(out, "\nwith {}", plain(&held.join(" and ")))?;
        }
        for seen in &mode.surfaces {
            writeln!(out, "  {}", plain(&line(setup.hands().grip, seen, &label(seen, table))))?;
        }
    }
    Ok(())
}

/// The same as JSON.
pub(super) fn value(setup: &Setup<'_>, signals: &Signals, table: &[Traced]) -> Value {
    let surface = |seen: &InView<'_>| {
        let round = |percent: f64| (percent * 10.0).round() / 10.0;
        let moves: Vec<Value> = seen
            .moves
            .iter()
            .map(|takes| json!({"control": takes.control.as_str(), "low_percent": round(takes.low), "high_percent": round(takes.high)}))
            .collect();
        json!({
            "channel": seen.surface.channel.value,
            "label": label(seen, table),
            "high_is": seen.surface.high_is.map(|way| way.value.word()),
            "stands_percent": round(seen.stands),
            "moves": moves,
            "words": line(setup.hands().grip, seen, &label(seen, table)),
        })
    };
    let mode = |mode: &FlightMode<'_>| {
        let held = mode.held.iter().map(|(control, at)| (control.to_string(), json!(at.as_str())));
        let when: serde_json::Map<String, Value> = held.collect();
        json!({"when": when, "surfaces": mode.surfaces.iter().map(surface).collect::<Vec<_>>()})
    };
    modes(setup, signals).iter().map(mode).collect()
}

/// What the table calls the surface's channel.
fn label(seen: &InView<'_>, table: &[Traced]) -> String {
    let traced = table.iter().find(|traced| traced.channel == seen.surface.channel.value);
    let side = seen.surface.side.map_or("", |side| side.value.word());
    let known = traced.map_or("", |traced| traced.label.as_str());
    if known.contains(side) { known.to_owned() } else { format!("{side} {known}") }
}

/// "left aileron (channel 1): high-is up; stands 10 % down; roll left: rises 54 %, roll right: falls 54 %".
fn line(grip: Grip, seen: &InView<'_>, label: &str) -> String {
    let way = seen.surface.high_is.map(|way| way.value);
    let is = way.map_or("high-is not stated", |way| match way {
        Way::Up => "high-is up",
        Way::Down => "high-is down",
        Way::Left => "high-is left",
        Way::Right => "high-is right",
        Way::Open => "high-is open",
        Way::On => "high-is on",
    });
    let mut line = format!("{label} (channel {}): {is}; {}", seen.surface.channel.value, stands(way, seen.stands));
    let mut moves = Vec::new();
    for takes in &seen.moves {
        for (end, percent) in ends(grip, &takes.control).into_iter().zip([takes.low, takes.high]) {
            if rounded(percent) != 0.0 {
                moves.push(format!("{} {end}: {}", takes.control, goes(way, percent)));
            }
        }
    }
    if moves.is_empty() {
        moves.push("no stick, knob or slider moves it here".to_owned());
    }
    line.push_str("; ");
    line.push_str(&moves.join(", "));
    line
}
