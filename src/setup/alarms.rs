//! What a handset's alarms, its telemetry and an aircraft's battery come to.

use super::of_model::ModelSetup;
use super::subject::Subject;
use super::way::Bay;
use crate::fleet::Decimal;
use crate::fleet::model::{Alarm, AlarmKind, Telemetry};
use crate::radio::battery::{Chemistry, Measured, flight_time_s};
use crate::radio::budget::sensitivity_at;
use crate::source::Located;

/// A battery alarm of a model, beside the battery of one of its aircraft.
#[derive(Clone, Copy, Debug)]
pub struct BatteryAlarm<'p> {
    /// The statement.
    pub alarm: &'p Alarm,
    /// The voltage at which it sounds: of a cell or of the pack.
    pub voltage: Located<Decimal>,
    /// Whether the voltage is that of a cell.
    pub per_cell: bool,
    /// Under load or rested, where that is stated.
    pub measured: Option<Measured>,
    /// The battery's chemistry.
    pub chemistry: &'static Chemistry,
    /// Cells in series, where stated.
    pub cells: Option<u8>,
}

/// Voltages closer than this are the same, in volts.
pub const SAME_V: f64 = 1e-6;

/// The battery alarms of a subject whose aircraft has a battery of a known chemistry.
pub fn battery_alarms<'p>(subject: &Subject<'p>) -> Vec<BatteryAlarm<'p>> {
    let Some(battery) = &subject.craft.battery else { return Vec::new() };
    let Some(chemistry) = Chemistry::named(&battery.chemistry.value) else { return Vec::new() };
    let alarms = subject.model.alarms.iter().filter_map(|alarm| match alarm.kind {
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
    pub fn cell_v(&self) -> Option<f64> {
        let volts = self.voltage.value.to_f64();
        if self.per_cell { Some(volts) } else { self.cells.map(|cells| volts / f64::from(cells.max(1))) }
    }

    /// The voltage of one cell at which to land. Where it is not stated how the alarm measures, the lower figure.
    pub fn landing_v(&self) -> f64 {
        self.chemistry.landing(self.measured.unwrap_or(Measured::UnderLoad)).volts
    }

    /// The landing voltage of what the alarm measures: of a cell, or of the pack; `None` for a pack whose number of cells is not
    /// stated.
    pub fn landing_as_measured_v(&self) -> Option<f64> {
        let cells = if self.per_cell { 1 } else { self.cells? };
        Some(self.landing_v() * f64::from(cells))
    }

    /// Whether it sounds clearly below the landing voltage.
    pub fn is_late(&self) -> bool {
        self.cell_v().is_some_and(|cell| cell < self.landing_v() - SAME_V)
    }

    /// Whether it sounds clearly above what a cell gives for most of a flight.
    pub fn is_early(&self) -> bool {
        self.cell_v().is_some_and(|cell| cell > self.chemistry.nominal.volts + SAME_V)
    }

    /// The number of cells that a pack's alarm was made for, where it is another one than the aircraft's, which comes behind it.
    pub fn other_cells(&self) -> Option<(u32, u8)> {
        let cells = self.cells.filter(|_| !self.per_cell)?;
        let fits =
            self.chemistry.cells_of_alarm(self.voltage.value.to_f64(), self.measured.unwrap_or(Measured::UnderLoad));
        (!fits.is_empty() && !fits.contains(&u32::from(cells))).then(|| (*fits.start(), cells))
    }
}

/// How long an aircraft's battery lasts.
#[derive(Clone, Copy, Debug)]
pub struct Lasts {
    /// In seconds.
    pub seconds: f64,
    /// In milliampere-hours.
    pub capacity_mah: f64,
    /// In amperes.
    pub draw_a: f64,
}

/// How long an aircraft's battery lasts, where capacity and draw are stated.
pub fn lasts(subject: &Subject<'_>) -> Option<Lasts> {
    let battery = subject.craft.battery.as_ref()?;
    let (capacity, draw_a) = (battery.capacity?.value.to_f64(), battery.draw?.value.to_f64());
    if capacity <= 0.0 || draw_a <= 0.0 {
        return None;
    }
    let capacity_mah = capacity * 1000.0;
    Some(Lasts { seconds: flight_time_s(capacity_mah, draw_a), capacity_mah, draw_a })
}

/// The telemetry of the bays that are on: the first that is stated as on, else the first that is stated.
pub fn telemetry(view: &ModelSetup<'_>) -> Option<Located<Telemetry>> {
    let mut stated = view.bays.iter().filter_map(|bay| bay.module.telemetry);
    let first = stated.clone().next();
    stated.find(|telemetry| is_on(telemetry.value)).or(first)
}

/// Whether some updates go to telemetry.
pub fn is_on(telemetry: Telemetry) -> bool {
    !matches!(telemetry, Telemetry::Off)
}

/// The weakest signal in dBm that the link of a bay still works with at the bay's update rate: the worse bound, where
/// the figures leave it open.
pub fn sensitivity(bay: &Bay<'_>) -> Option<f64> {
    let (link, rate) = (bay.link?, bay.module.update_rate?);
    let stated: Vec<(f64, f64)> = link.sensitivities.iter().map(|at| (at.rate.to_f64(), at.value.to_f64())).collect();
    // A figure that could not be read may be a better one.
    if link.head.lost_any(&["sensitivity"]) {
        return None;
    }
    sensitivity_at(&stated, rate.value.to_f64()).exact_dbm()
}
