//! Surfaces and motors that are made to take their time.

use super::pairs::pairs;
use crate::fleet::Decimal;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::model::Channel;
use crate::fleet::words::{Side, Stick};
use crate::setup::subject::Subject;
use crate::source::Span;

/// What is slowed.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Slow {
    /// What flies an aircraft or steers a car.
    Aircraft,
    /// What steers a boat or a tracked vehicle, or something of a kind that is not stated.
    Vessel,
    /// What hauls a sheet.
    Winch,
}

/// A surface that steers and is slowed.
#[derive(Clone, Copy, Debug)]
pub struct SlowSurface<'f> {
    /// The surface.
    pub surface: &'f Surface,
    /// Where the line stands that slows it.
    pub sweep: Span,
    /// The time for its whole way, in the slower direction, in seconds.
    pub takes: Decimal,
    /// What it is.
    pub what: Slow,
}

/// The surfaces that steer, lift a rotor or haul a sheet, and are slowed.
pub fn slow_surfaces<'f>(subject: &Subject<'f>, surfaces: &'f Surfaces) -> Vec<SlowSurface<'f>> {
    let kind = subject.craft.kind.map(|kind| kind.value);
    let steers = |surface: &Surface| {
        surface.functions.iter().any(|name| {
            Stick::find(&name.value).is_some() || matches!(name.value.as_str(), "steering" | "tail" | "collective")
        })
    };
    let slow = surfaces.channels.iter().filter_map(|surface| {
        let what = match kind {
            _ if surface.has("winch") => Slow::Winch,
            _ if !steers(surface) => return None,
            Some(kind) if !kind.stays_down() || kind == crate::fleet::words::CraftKind::Car => Slow::Aircraft,
            _ => Slow::Vessel,
        };
        let sweep = subject.model.channel(surface.channel.value)?.full_sweep?;
        Some(SlowSurface { surface, sweep: sweep.span, takes: sweep.value.up.max(sweep.value.down), what })
    });
    slow.collect()
}

/// Two channels that do the same on two sides, one slower than the other.
#[derive(Clone, Copy, Debug)]
pub struct Unlike<'f> {
    /// The slower one.
    pub slower: &'f Channel,
    /// The line that slows it.
    pub sweep: Span,
    /// What it takes for its whole way, in seconds.
    pub takes: Decimal,
    /// The other.
    pub other: &'f Channel,
    /// What that one takes; zero where nothing slows it.
    pub other_takes: Decimal,
}

/// The pairs of surfaces and of motors of which one side takes longer than the other by more than so many seconds.
pub fn unlike_sides<'f>(subject: &Subject<'f>, surfaces: &Surfaces, allowed: Decimal) -> Vec<Unlike<'f>> {
    let motor_on = |side: Side| {
        let motors = surfaces.motors.iter();
        motors.filter(move |motor| motor.side.is_some_and(|known| known.value == side)).map(|motor| motor.channel.value)
    };
    let motors = motor_on(Side::Left).zip(motor_on(Side::Right)).map(|(left, right)| [left, right]);
    let pairs = pairs(surfaces).into_iter().map(|pair| pair.channels()).chain(motors);
    let unlike = pairs.filter_map(|numbers| {
        let [Some(left), Some(right)] = numbers.map(|number| subject.model.channel(number)) else { return None };
        let takes = |channel: &Channel| {
            channel.full_sweep.map_or(Decimal::whole(0), |sweep| sweep.value.up.max(sweep.value.down))
        };
        let (slower, other) = if takes(left) >= takes(right) { (left, right) } else { (right, left) };
        let differs = takes(slower).to_f64() - takes(other).to_f64() > allowed.to_f64();
        let sweep = slower.full_sweep.filter(|_| differs)?;
        Some(Unlike { slower, sweep: sweep.span, takes: takes(slower), other, other_takes: takes(other) })
    });
    unlike.collect()
}
