//! What a handset's alarms, its telemetry and an aircraft's battery come to.

use super::bay::Bay;
use super::of_model::ModelSetup;
use super::subject::Subject;
use crate::fleet::Decimal;
use crate::fleet::craft::{Craft, CraftBattery};
use crate::fleet::equipment::Handset;
use crate::fleet::model::{Alarm, AlarmKind, Telemetry};
use crate::radio::battery::{Chemistry, Measured, USABLE_SHARE, flight_time_s};
use crate::radio::budget::sensitivity_at;
use crate::source::{Located, Span};

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
const SAME_V: f64 = 1e-6;

/// The battery alarms of a subject whose aircraft has a battery of a known chemistry.
pub fn battery_alarms<'p>(subject: &Subject<'p>) -> Vec<BatteryAlarm<'p>> {
    let Some(battery) = subject.craft.watched_battery() else { return Vec::new() };
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

    /// Whether a pilot may land later than the table says: with the motors running, cylindrical cells are commonly flown lower
    /// by those who fly long and with little current.
    pub fn may_be_lower(&self) -> bool {
        self.chemistry.name == "li-ion" && self.measured != Some(Measured::Rested)
    }

    /// Whether it sounds clearly below the landing voltage, or below `lowest`, in volts of a cell, where that is lower.
    pub fn is_late(&self, lowest: Option<Decimal>) -> bool {
        let last = lowest.map_or(f64::INFINITY, Decimal::to_f64).min(self.landing_v());
        self.cell_v().is_some_and(|cell| cell < last - SAME_V)
    }

    /// The voltage of one cell above which it is early. Where it is not stated how the alarm measures, the higher figure.
    pub fn early_v(&self) -> f64 {
        let early = |measured| self.chemistry.early(measured).volts;
        self.measured.map_or_else(|| early(Measured::UnderLoad).max(early(Measured::Rested)), early)
    }

    /// Whether it sounds clearly above what a cell gives for most of a flight.
    pub fn is_early(&self) -> bool {
        self.cell_v().is_some_and(|cell| cell > self.early_v() + SAME_V)
    }

    /// Whether no cell of the aircraft's pack could rightly have the voltage: it is lower than a cell may fall, or early.
    fn is_of_no_such_pack(&self) -> bool {
        self.is_early() || self.cell_v().is_some_and(|cell| cell < self.chemistry.minimum.volts - SAME_V)
    }

    /// The number of cells that a pack's alarm was made for, where it is another one than the aircraft's, which comes behind it.
    pub fn other_cells(&self) -> Option<(u32, u8)> {
        let cells = self.cells.filter(|_| !self.per_cell && self.is_of_no_such_pack())?;
        let fits =
            self.chemistry.cells_of_alarm(self.voltage.value.to_f64(), self.measured.unwrap_or(Measured::UnderLoad));
        (!fits.is_empty() && !fits.contains(&u32::from(cells))).then(|| (*fits.start(), cells))
    }
}

/// The alarm of a handset's own battery.
#[derive(Clone, Copy, Debug)]
pub struct OwnAlarm {
    /// The voltage of the whole battery at which it sounds.
    pub voltage: Located<Decimal>,
    /// The battery's chemistry.
    pub chemistry: &'static Chemistry,
    /// Cells in series.
    pub cells: u8,
}

impl OwnAlarm {
    /// The alarm of a handset that states one for a battery of so many cells of a known chemistry.
    pub fn of(handset: &Handset) -> Option<Self> {
        let battery = handset.battery.as_ref()?;
        let chemistry = Chemistry::named(&battery.chemistry.value)?;
        Some(Self { voltage: battery.alarm?, chemistry, cells: battery.cells?.value.max(1) })
    }

    /// The voltage of one cell at which it sounds.
    pub fn cell_v(&self) -> f64 {
        self.voltage.value.to_f64() / f64::from(self.cells)
    }

    /// The voltage of one cell below which it is late. A handset draws little, but not nothing: the figure under load is the
    /// last one that is in time.
    pub fn last_v(&self) -> f64 {
        self.chemistry.landing_under_load.volts
    }

    /// The voltage of the whole battery at which a fifth of the charge is left.
    pub fn good_v(&self) -> f64 {
        self.chemistry.landing_rested.volts * f64::from(self.cells)
    }

    /// Whether it sounds when the battery is nearly empty.
    pub fn is_late(&self) -> bool {
        self.cell_v() < self.last_v() - SAME_V
    }

    /// Whether it sounds with a full battery.
    pub fn never_stops(&self) -> bool {
        self.cell_v() > self.chemistry.full.volts + SAME_V
    }
}

/// What feeds an aircraft's receiver and servos, beside what they are made for.
#[derive(Clone, Copy, Debug)]
pub struct Fed {
    /// Where it is stated: the supply, or the battery.
    pub place: Span,
    /// The battery's chemistry; `None` for a regulated supply.
    pub chemistry: Option<&'static Chemistry>,
    /// The least that it gives, in volts: of a battery, when it is time to land.
    pub low_v: f64,
    /// The most: of a battery, when it is full.
    pub high_v: f64,
    /// What receiver and servos are made for.
    pub made_for: Located<(Decimal, Decimal)>,
}

impl Fed {
    /// What is stated of an aircraft: its supply, else the battery of its receiver; `None` where something is missing.
    pub fn of(craft: &Craft) -> Option<Self> {
        let made_for = craft.servo_voltage?;
        if let Some(supply) = craft.supply {
            let volts = supply.value.to_f64();
            return Some(Self { place: supply.span, chemistry: None, low_v: volts, high_v: volts, made_for });
        }
        let battery = craft.receiver_battery()?;
        let (chemistry, cells) = (Chemistry::named(&battery.chemistry.value)?, f64::from(battery.cells?.value));
        let (low_v, high_v) = (chemistry.landing_under_load.volts * cells, chemistry.full.volts * cells);
        Some(Self { place: battery.header, chemistry: Some(chemistry), low_v, high_v, made_for })
    }

    /// Whether it is more than they are made for.
    pub fn is_over(&self) -> bool {
        self.high_v > self.made_for.value.1.to_f64() + SAME_V
    }

    /// Whether it is less than they are made for.
    pub fn is_under(&self) -> bool {
        self.low_v < self.made_for.value.0.to_f64() - SAME_V
    }
}

/// The battery of its own that feeds the receiver, where no alarm and no timer of the model concerns it.
pub fn unwatched<'f>(subject: &Subject<'f>) -> Option<&'f CraftBattery> {
    let battery = subject.craft.receiver_battery()?;
    let alarm = subject.model.alarms.iter().any(|alarm| matches!(alarm.kind, AlarmKind::Battery { .. }));
    // An alarm is about the battery that flies, where there is one.
    let watched = !subject.model.timers.is_empty() || (alarm && subject.craft.flight_battery().is_none());
    (!watched).then_some(battery)
}

/// The voltages at which to land on a battery, in volts.
#[derive(Clone, Copy, Debug)]
pub struct Landing {
    /// Of one cell, with the motors running.
    pub cell_under_load: f64,
    /// Of one cell, with the motors at rest.
    pub cell_rested: f64,
    /// Of the pack, with the motors running; `None` where it is not stated how many cells it has.
    pub pack_under_load: Option<f64>,
    /// Of the pack, with the motors at rest.
    pub pack_rested: Option<f64>,
}

/// The voltages at which to land on a battery of a known chemistry.
pub fn landing(battery: &CraftBattery) -> Option<Landing> {
    let chemistry = Chemistry::named(&battery.chemistry.value)?;
    let (loaded, rested) = (chemistry.landing_under_load.volts, chemistry.landing_rested.volts);
    let pack = |cell: f64| battery.cells.map(|cells| cell * f64::from(cells.value));
    Some(Landing {
        cell_under_load: loaded,
        cell_rested: rested,
        pack_under_load: pack(loaded),
        pack_rested: pack(rested),
    })
}

/// How long a battery of an aircraft lasts, where capacity and draw are stated.
pub fn battery_lasts(battery: &CraftBattery) -> Option<Lasts> {
    lasts_of(battery)
}

/// How long an aircraft's battery lasts.
#[derive(Clone, Copy, Debug)]
pub struct Lasts {
    /// In seconds.
    pub seconds: f64,
    /// The share of the capacity that a flight may use, in percent.
    pub share: f64,
    /// In milliampere-hours.
    pub capacity_mah: f64,
    /// In amperes.
    pub draw_a: Decimal,
}

impl Lasts {
    /// Whether it is less than a time in seconds.
    pub fn is_shorter_than(&self, seconds: Decimal) -> bool {
        // A sum that comes to a whole second must not lose it to rounding.
        seconds.to_f64() > self.seconds + 1e-6
    }

    /// Whether so many seconds are less than a share of it, in percent.
    pub fn is_much_longer_than(&self, seconds: Decimal, share: Decimal) -> bool {
        seconds.to_f64() < self.seconds * share.to_f64() / 100.0
    }
}

/// How long an aircraft's battery lasts, where capacity and draw are stated.
pub fn lasts(subject: &Subject<'_>) -> Option<Lasts> {
    lasts_of(subject.craft.watched_battery()?)
}

fn lasts_of(battery: &CraftBattery) -> Option<Lasts> {
    let (capacity, draw) = (battery.capacity?.value.to_f64(), battery.draw?.value);
    if capacity <= 0.0 || draw.to_f64() <= 0.0 {
        return None;
    }
    let capacity_mah = capacity * 1000.0;
    let seconds = flight_time_s(capacity_mah, draw.to_f64());
    Some(Lasts { seconds, share: USABLE_SHARE * 100.0, capacity_mah, draw_a: draw })
}

/// How long one battery of an aircraft lasts, with the statements that say so.
#[derive(Clone, Copy, Debug)]
pub struct BatteryTime {
    /// The sum.
    pub lasts: Lasts,
    /// The draw, or the capacity where that is beyond what an aircraft carries.
    pub odd: Span,
    /// The other of the two.
    pub other: Span,
}

/// More capacity, in milliampere-hours, than an aircraft carries (common practice, no source).
const MOST_MAH: f64 = 100_000.0;

impl BatteryTime {
    /// Whether it is shorter than one time, or longer than another, in seconds.
    pub fn is_outside(&self, least: Decimal, most: Decimal) -> bool {
        self.lasts.seconds < least.to_f64() || self.lasts.seconds > most.to_f64()
    }
}

/// How long each battery of an aircraft lasts, of which capacity and draw are stated.
pub fn battery_times(craft: &Craft) -> Vec<BatteryTime> {
    let time = |battery: &CraftBattery| {
        let (capacity, draw) = (battery.capacity?, battery.draw?);
        let lasts = lasts_of(battery)?;
        let (odd, other) = match lasts.capacity_mah > MOST_MAH {
            true => (capacity.span, draw.span),
            false => (draw.span, capacity.span),
        };
        Some(BatteryTime { lasts, odd, other })
    };
    craft.batteries.iter().filter_map(time).collect()
}

/// The bays that state that no update goes to telemetry, where no other bay that is on may have some.
pub fn without_telemetry<'v, 'f>(bays: &'v [Bay<'f>]) -> &'v [Bay<'f>] {
    let off = |bay: &Bay<'_>| bay.module.telemetry.is_some_and(|telemetry| !is_on(telemetry.value));
    if bays.iter().all(off) { bays } else { &[] }
}

/// Whether some updates of a bay go to telemetry.
pub fn has_telemetry(bay: &Bay<'_>) -> bool {
    bay.module.telemetry.is_some_and(|telemetry| is_on(telemetry.value))
}

fn is_on(telemetry: Telemetry) -> bool {
    !matches!(telemetry, Telemetry::Off)
}

/// The weakest signal that a link still works with, at an update rate.
#[derive(Clone, Copy, Debug)]
pub struct Least {
    /// In dBm: the worse bound, where the figures leave it open.
    pub dbm: f64,
    /// In hertz.
    pub rate: Decimal,
}

impl Least {
    /// The signal so many decibels above it, in dBm.
    pub fn above(&self, decibels: Decimal) -> f64 {
        self.dbm + decibels.to_f64()
    }

    /// How far above it a signal in dBm is, in dB.
    pub fn room(&self, signal: Decimal) -> f64 {
        signal.to_f64() - self.dbm
    }

    /// Whether a signal in dBm is less than so many decibels above it.
    pub fn is_near(&self, signal: Decimal, decibels: Decimal) -> bool {
        signal.to_f64() < self.above(decibels) - 1e-9
    }
}

/// The strongest signal that an aircraft of the model needs over some bay that it hears: an alarm must be in time for each.
pub fn least_signal(view: &ModelSetup<'_>) -> Option<Least> {
    let heard = |bay: &&Bay<'_>| view.setups.iter().any(|setup| setup.hears(bay));
    let needed = view.bays.iter().filter(heard).filter_map(sensitivity);
    needed.reduce(|best, next| if next.dbm > best.dbm { next } else { best })
}

/// The weakest signal that the link of a bay works with at its update rate; `None` where that can't be told.
pub fn sensitivity(bay: &Bay<'_>) -> Option<Least> {
    let (link, rate) = (bay.link?, bay.module.update_rate?.value);
    // A figure that could not be read may be a better one.
    if link.head.lost_any(&["sensitivity"]) {
        return None;
    }
    let stated: Vec<(f64, f64)> = link.sensitivities.iter().map(|at| (at.rate.to_f64(), at.value.to_f64())).collect();
    let dbm = sensitivity_at(&stated, rate.to_f64()).exact_dbm()?;
    Some(Least { dbm, rate })
}

/// While an aircraft flies, as a condition of its model: the arming channel's range where the model has that channel, else a
/// raised throttle. `None` where nothing of the kind tells flight from rest.
pub fn in_flight(subject: &Subject<'_>) -> Option<String> {
    let mode = subject.craft.controller.as_ref().and_then(|controller| controller.arm_mode());
    let test = mode.and_then(|mode| mode.tests().next());
    match test.filter(|test| subject.model.channel(test.channel.value).is_some()) {
        Some(test) => Some(format!("channel {} above {} us", test.channel.value, test.range.value.0)),
        None => {
            let motorless = subject.craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.motors.is_empty());
            (!motorless).then(|| "throttle above -95 %".to_owned())
        }
    }
}
