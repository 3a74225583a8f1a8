//! `arming/thin-margin`: a position reads close to an edge of a mode's range.

use crate::fleet::Dimension;
use crate::rules::out::{Out, choice, replace};
use crate::rules::wording::us;
use crate::setup::{Setup, Signals, float, number};
use crate::signal::{Answer, Bound, Bounds, Exact, Path, Question, Setting, Value, exact};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let margin = out.parameter("margin", Dimension::Pulse);
    let Some(controller) = &setup.craft.controller else { return };
    for mode in &controller.modes {
        for test in &mode.tests {
            let channel = test.channel.value;
            let (Some(known), Some(signals)) = (setup.model.channel(channel), setup.signals()) else { continue };
            let edges = [test.range.value.0, test.range.value.1];
            let near = edges.map(|edge| (number(edge) - number(margin), number(edge) + number(margin)));
            // Where none of all pulses that could arrive is near an edge there is nothing to ask.
            let is_near = |pulse: &Exact| near.iter().any(|&(low, high)| exact(low) < *pulse && *pulse < exact(high));
            if signals.program().never_arrives(u16::from(channel), &is_near) {
                continue;
            }
            // An axis crosses every edge on its way: only positions that stay are meant. In a condition an axis only
            // chooses among them.
            let movers = signals.program().moved_by(u16::from(channel));
            if movers.is_empty() || follows_an_axis(signals, u16::from(channel), &mut Vec::new()) {
                continue;
            }
            for (edge, (low, high)) in edges.into_iter().zip(near) {
                let bound = |at| Some(Bound { at, strict: true });
                let near = Bounds { low: bound(low), high: bound(high) };
                let place = setup.in_craft(mode.span);
                let Some(Answer::Yes(witness)) = out.ask(signals, &Question::received(u16::from(channel), near), place)
                else {
                    continue;
                };
                let reading = signals.program().play(&witness.path);
                let Some(pulse) =
                    reading.channel(u16::from(channel)).and_then(|seen| seen.received.as_ref()).map(float)
                else {
                    continue;
                };
                let message = format!(
                    "A position of the model reads {} on channel {channel}, and mode \"{}\" has its edge at {edge} us: less than {margin} us apart.",
                    us(pulse),
                    mode.name.value
                );
                let (low, high) = (test.range.value.0, test.range.value.1);
                let new = half_way(
                    signals,
                    &movers,
                    channel,
                    pulse,
                    edge == high,
                    low.to_f64() <= pulse && pulse <= high.to_f64(),
                );
                let text = if edge == low { format!("{new}..{high} us") } else { format!("{low}..{new} us") };
                let edit = replace(&setup.craft.head, test.range.span, text.clone());
                out.find(place, message)
                    .shown_by(signals.witness(&witness.path))
                    .other(setup.in_model(known.header), "the channel that reads so")
                    .mend_choices(
                        "Put the edge half-way between two positions, here and in the flight controller itself.",
                        vec![choice(format!("let the mode count from {text}"), vec![edit])],
                    );
            }
        }
    }
}

/// Whether an axis stands in a channel's values, also through other channels.
fn follows_an_axis(signals: &Signals, channel: u16, seen: &mut Vec<u16>) -> bool {
    if seen.contains(&channel) {
        return false;
    }
    seen.push(channel);
    let lines = signals.program().channel(channel).map(|channel| channel.lines.as_slice()).unwrap_or_default();
    lines.iter().any(|line| holds_an_axis(signals, &line.value, seen))
}

fn holds_an_axis(signals: &Signals, value: &Value, seen: &mut Vec<u16>) -> bool {
    match value {
        Value::Control(control) | Value::Unshaped(control) => signals.positions(*control) == 0,
        Value::Percent(_) => false,
        Value::Channel(channel) => follows_an_axis(signals, *channel, seen),
        Value::Curve(_, of) | Value::Negate(of) => holds_an_axis(signals, of, seen),
        Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
            holds_an_axis(signals, a, seen) || holds_an_axis(signals, b, seen)
        }
    }
}

/// The edge half-way between the pulse and the next one on the other side of the edge; 50 us beyond where there is none
/// (common practice, no source).
fn half_way(
    signals: &Signals,
    movers: &[crate::signal::ControlId],
    channel: u8,
    pulse: f64,
    upper: bool,
    inside: bool,
) -> i64 {
    let mut pulses = Vec::new();
    for &control in movers {
        for position in 0..signals.positions(control) {
            let stand = signals.start(&[(control, Setting::Position(position))]);
            let reading = signals.program().play(&Path::at(stand));
            pulses.extend(reading.channel(u16::from(channel)).and_then(|seen| seen.received.as_ref()).map(float));
        }
    }
    // A pulse inside an upper edge, or outside a lower one, needs the edge above it.
    let above = upper == inside;
    let next = match above {
        true => pulses.iter().copied().filter(|other| *other > pulse + 1.0).fold(f64::INFINITY, f64::min),
        false => pulses.iter().copied().filter(|other| *other < pulse - 1.0).fold(f64::NEG_INFINITY, f64::max),
    };
    let edge = match (next.is_finite(), above) {
        (true, _) => (pulse + next) / 2.0,
        (false, true) => pulse + 50.0,
        (false, false) => pulse - 50.0,
    };
    edge.round() as i64
}
