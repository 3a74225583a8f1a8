//! Rules about alarms, timers and batteries: does the handset warn, and in time.

rules_of!(alarms);

use crate::radio::battery::Measured;
use crate::setup::Setup;
use crate::setup::alarms::{self, BatteryAlarm};

/// How the landing voltage is meant.
fn measured_words(alarm: &BatteryAlarm<'_>) -> &'static str {
    match alarm.measured {
        Some(Measured::Rested) => "rested",
        _ => "under load",
    }
}

/// The landing voltage in the form of the alarm: of a cell, or of the pack.
fn landing_text(alarm: &BatteryAlarm<'_>) -> Option<String> {
    alarm.landing_as_measured_v().map(volts)
}

/// What the alarm comes to for one cell, in words.
fn each(alarm: &BatteryAlarm<'_>) -> String {
    match (alarm.per_cell, alarm.cell_v()) {
        (false, Some(cell)) => format!("{} V, {} a cell,", alarm.voltage.value, volts(cell)),
        _ => format!("{} V a cell", alarm.voltage.value),
    }
}

/// A voltage as a description writes it, to 0.01 V.
fn volts(volts: f64) -> String {
    let hundredths = (volts * 100.0).round() / 100.0;
    let text = format!("{hundredths:.2}");
    format!("{} V", text.strip_suffix('0').unwrap_or(&text))
}

/// The seconds that an aircraft's battery lasts, where capacity and draw are stated, with what puts the sum in words.
fn lasts(setup: &Setup<'_>) -> Option<(f64, impl Fn() -> String)> {
    let lasts = alarms::lasts(setup)?;
    let words =
        move || format!("80 % of {:.0} mAh / {} A = {}", lasts.capacity_mah, lasts.draw_a, minutes(lasts.seconds));
    Some((lasts.seconds, words))
}

/// A time as a description writes it, rounded down to a second.
fn minutes(seconds: f64) -> String {
    // A sum that comes to a whole second must not lose it to rounding.
    let whole = (seconds + 1e-6).floor() as u64;
    match (whole / 60, whole % 60) {
        (0, seconds) => format!("{seconds} s"),
        (minutes, 0) => format!("{minutes} min"),
        (minutes, seconds) => format!("{minutes} min {seconds} s"),
    }
}

/// While the aircraft flies, as a condition of the model: the arming channel's range where the model has that channel,
/// else a raised throttle. `None` where nothing of the kind tells flight from rest.
fn in_flight(setup: &Setup<'_>) -> Option<String> {
    let mode = setup.craft.controller.as_ref().and_then(|controller| controller.arm_mode());
    let test = mode.and_then(|mode| mode.tests.first());
    match test.filter(|test| setup.model.channel(test.channel.value).is_some()) {
        Some(test) => Some(format!("channel {} above {} us", test.channel.value, test.range.value.0)),
        None => {
            let motorless = setup.craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.motors.is_empty());
            (!motorless).then(|| "throttle above -95 %".to_owned())
        }
    }
}
