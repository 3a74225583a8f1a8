//! Rules about alarms, timers and batteries: does the handset warn, and in time.

rules_of!(alarms);

use super::out::{choice, replace};
use crate::findings::fact::{Amount, Fact, Unit, amount, fill, percent};
use crate::findings::{Choice, Edit};
use crate::radio::battery::Measured;
use crate::setup::Setup;
use crate::setup::alarms::{BatteryAlarm, Lasts};

/// How long the battery lasts, as a sum.
const SUM: &str = "{share} of {capacity} / {draw} = {lasts}";

/// The facts of [`SUM`].
fn sum(lasts: &Lasts) -> [Fact; 4] {
    [
        percent("share", lasts.share),
        amount("capacity", Amount::Computed(lasts.capacity_mah, 0), Unit::Mah),
        amount("draw", lasts.draw_a, Unit::A),
        amount("lasts", lasts.seconds, Unit::Clock),
    ]
}

/// How the landing voltage is meant.
fn measured_words(alarm: &BatteryAlarm<'_>) -> &'static str {
    match alarm.measured {
        Some(Measured::Rested) => "rested",
        _ => "under load",
    }
}

/// A voltage to 0.01 V.
fn volts(name: &'static str, volts: f64) -> Fact {
    amount(name, Amount::Computed(volts, 2), Unit::V)
}

/// What the alarm comes to for one cell: which case it is, in words, and their facts.
fn each(alarm: &BatteryAlarm<'_>) -> (&'static str, &'static str, Vec<Fact>) {
    let voltage = amount("voltage", alarm.voltage.value, Unit::V);
    match (alarm.per_cell, alarm.cell_v()) {
        (false, Some(cell)) => {
            ("pack", "The alarm sounds at {voltage}, {cell} a cell", vec![voltage, volts("cell", cell)])
        }
        _ => ("cell", "The alarm sounds at {voltage} a cell", vec![voltage]),
    }
}

/// The choice to sound an alarm at the landing voltage in the form of the alarm: of a cell, or of the pack.
fn at_landing(setup: &Setup<'_>, alarm: &BatteryAlarm<'_>) -> Vec<Choice> {
    let landing = alarm.landing_as_measured_v().map(|landing| fill("{landing}", &[volts("landing", landing)]));
    landing
        .map(|text| sound_at(text, |text| replace(&setup.model.head, alarm.voltage.span, text)))
        .into_iter()
        .collect()
}

/// The choice to sound an alarm at something, with the edit that writes it.
fn sound_at(text: String, edit: impl FnOnce(String) -> Edit) -> Choice {
    choice(format!("sound the alarm at {text}"), vec![edit(text)])
}
