//! Rules about alarms, timers and batteries: does the handset warn, and in time.

pub(super) mod battery_early;
pub(super) mod battery_late;
pub(super) mod cell_count;
pub(super) mod handset_battery;
pub(super) mod link_alarm_late;
pub(super) mod no_limit;
pub(super) mod no_link_alarm;
pub(super) mod no_telemetry;
pub(super) mod timer_long;
pub(super) mod timer_never;

use crate::fleet::Decimal;
use crate::fleet::model::{Alarm, AlarmKind, Telemetry};
use crate::radio::battery::{Chemistry, Measured, flight_time_s};
use crate::radio::budget::sensitivity_at;
use crate::setup::{Bay, ModelSetup, Setup};
use crate::source::Located;

/// A battery alarm of a model, beside the battery of one of its aircraft.
#[derive(Clone, Copy, Debug)]
struct BatteryAlarm<'p> {
    alarm: &'p Alarm,
    voltage: Located<Decimal>,
    per_cell: bool,
    /// Under load or rested, where that is stated.
    measured: Option<Measured>,
    chemistry: &'static Chemistry,
    /// Cells in series, where stated.
    cells: Option<u8>,
}

/// Voltages closer than this are the same, in volts.
const SAME_V: f64 = 1e-6;

/// The battery alarms of a setup whose aircraft has a battery of a known chemistry.
fn battery_alarms<'p>(setup: &Setup<'p>) -> Vec<BatteryAlarm<'p>> {
    let Some(battery) = &setup.craft.battery else { return Vec::new() };
    let Some(chemistry) = Chemistry::named(&battery.chemistry.value) else { return Vec::new() };
    let alarms = setup.model.alarms.iter().filter_map(|alarm| match alarm.kind {
        AlarmKind::Battery { voltage, per_cell, under_load } => Some(BatteryAlarm {
            alarm,
            voltage,
            per_cell,
            measured: under_load.map(|load| if load { Measured::UnderLoad } else { Measured::Rested }),
            chemistry,
            cells: battery.cells.map(|cells| cells.value),
        }),
        _ => None,
    });
    alarms.collect()
}

impl BatteryAlarm<'_> {
    /// The voltage of one cell at which it sounds; `None` for a pack whose number of cells is not stated.
    fn cell_v(&self) -> Option<f64> {
        let volts = self.voltage.value.to_f64();
        if self.per_cell { Some(volts) } else { self.cells.map(|cells| volts / f64::from(cells.max(1))) }
    }

    /// The voltage of one cell at which to land. Where it is not stated how the alarm measures, the lower figure.
    fn landing_v(&self) -> f64 {
        self.chemistry.landing(self.measured.unwrap_or(Measured::UnderLoad)).volts
    }

    /// How the landing voltage is meant.
    fn measured_words(&self) -> &'static str {
        match self.measured {
            Some(Measured::Rested) => "rested",
            _ => "under load",
        }
    }

    /// The landing voltage in the form of the alarm: of a cell, or of the pack.
    fn landing_text(&self) -> Option<String> {
        let cells = if self.per_cell { 1 } else { self.cells? };
        Some(volts(self.landing_v() * f64::from(cells)))
    }

    /// The number of cells that a pack's alarm was made for, where it is another one than the aircraft's.
    fn other_cells(&self) -> Option<(u32, u8)> {
        let cells = self.cells.filter(|_| !self.per_cell)?;
        let fits =
            self.chemistry.cells_of_alarm(self.voltage.value.to_f64(), self.measured.unwrap_or(Measured::UnderLoad));
        (!fits.is_empty() && !fits.contains(&u32::from(cells))).then(|| (*fits.start(), cells))
    }

    /// What the alarm comes to for one cell, in words.
    fn each(&self) -> String {
        match (self.per_cell, self.cell_v()) {
            (false, Some(cell)) => format!("{} V, {} a cell,", self.voltage.value, volts(cell)),
            _ => format!("{} V a cell", self.voltage.value),
        }
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
    let battery = setup.craft.battery.as_ref()?;
    let (capacity, draw) = (battery.capacity?.value.to_f64(), battery.draw?.value.to_f64());
    if capacity <= 0.0 || draw <= 0.0 {
        return None;
    }
    let seconds = flight_time_s(capacity * 1000.0, draw);
    Some((seconds, move || format!("80 % of {:.0} mAh / {draw} A = {}", capacity * 1000.0, minutes(seconds))))
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

/// The telemetry of the bays that are on: the first that is stated as on, else the first that is stated.
fn telemetry(view: &ModelSetup<'_>) -> Option<Located<Telemetry>> {
    let mut stated = view.bays.iter().filter_map(|bay| bay.module.telemetry);
    let first = stated.clone().next();
    stated.find(|telemetry| is_on(telemetry.value)).or(first)
}

fn is_on(telemetry: Telemetry) -> bool {
    !matches!(telemetry, Telemetry::Off)
}

/// The weakest signal in dBm that the link of a bay still works with at the bay's update rate: the worse bound, where
/// the figures leave it open.
fn sensitivity(bay: &Bay<'_>) -> Option<f64> {
    let (link, rate) = (bay.link?, bay.module.update_rate?);
    let stated: Vec<(f64, f64)> = link.sensitivities.iter().map(|at| (at.rate.to_f64(), at.value.to_f64())).collect();
    // A figure that could not be read may be a better one.
    if link.head.lost_any(&["sensitivity"]) {
        return None;
    }
    sensitivity_at(&stated, rate.value.to_f64()).exact_dbm()
}
