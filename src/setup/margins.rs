//! Pulses that read close to an edge of a mode's range, and those that the link has to round to one of two levels.

use super::signals::{Signals, float};
use super::subject::number;
use crate::fleet::Decimal;
use crate::fleet::craft::ModeTest;
use crate::signal::{Bound, Bounds, Carriage, ControlId, Exact, Number, Path, Range, Scale, Setting, exact, fits};
use num_traits::{CheckedAdd, CheckedMul, CheckedSub};

/// What counts as near an edge of the range of a mode's test.
#[derive(Clone, Copy, Debug)]
pub struct NearEdge {
    /// The edge, in microseconds.
    pub edge: Decimal,
    /// Whether it is the upper one.
    pub upper: bool,
    /// The pulses near it.
    pub near: Bounds,
    low: Number,
    high: Number,
}

impl NearEdge {
    /// Both edges of a test, with the pulses less than `margin` microseconds away.
    pub fn of(test: &ModeTest, margin: Decimal) -> [Self; 2] {
        let (low, high) = test.range.value;
        [(low, false), (high, true)].map(|(edge, upper)| {
            let (low, high) = (number(edge) - number(margin), number(edge) + number(margin));
            let bound = |at| Some(Bound { at, strict: true });
            Self { edge, upper, near: Bounds { low: bound(low), high: bound(high) }, low, high }
        })
    }

    /// Whether a pulse is near it.
    pub fn holds(&self, pulse: &Exact) -> bool {
        exact(self.low) < *pulse && *pulse < exact(self.high)
    }

    /// The range of a test with this edge half-way between a pulse and the next one on the other side of the edge; 50 us
    /// beyond the pulse where there is none (common practice, no source). It is written as a range of the language.
    pub fn moved(&self, test: &ModeTest, signals: &Signals, movers: &[ControlId], pulse: &Exact) -> String {
        let channel = u16::from(test.channel.value);
        let mut pulses = Vec::new();
        for &control in movers {
            for position in 0..signals.positions(control) {
                let stand = signals.start(&[(control, Setting::Position(position))]);
                let reading = signals.program().play(&Path::at(stand));
                pulses.extend(reading.channel(channel).and_then(|seen| seen.received.as_ref()).map(float));
            }
        }
        let pulse = float(pulse);
        let (low, high) = test.range.value;
        let inside = low.to_f64() <= pulse && pulse <= high.to_f64();
        // A pulse inside an upper edge, or outside a lower one, needs the edge above it.
        let above = self.upper == inside;
        let next = match above {
            true => pulses.iter().copied().filter(|other| *other > pulse + 1.0).fold(f64::INFINITY, f64::min),
            false => pulses.iter().copied().filter(|other| *other < pulse - 1.0).fold(f64::NEG_INFINITY, f64::max),
        };
        let edge = match (next.is_finite(), above) {
            (true, _) => (pulse + next) / 2.0,
            (false, true) => pulse + 50.0,
            (false, false) => pulse - 50.0,
        };
        match self.upper {
            true => format!("{low}..{} us", edge.round() as i64),
            false => format!("{}..{high} us", edge.round() as i64),
        }
    }
}

/// The pulses between two neighbouring levels of the link of which exactly one lies in the range of a mode's test: more than
/// a quarter step from both.
#[derive(Clone, Copy, Debug)]
pub struct Between {
    /// The pulses.
    pub pulses: Bounds,
}

impl Between {
    /// All of them for a test; none where the link does not carry its channel with levels.
    pub fn of(test: &ModeTest, signals: &Signals) -> Vec<Self> {
        let program = signals.program();
        let carriage = program.channel(u16::from(test.channel.value)).map(|channel| channel.carriage);
        let Some(Carriage::Levels(levels)) = carriage else { return Vec::new() };
        let (low, high) = (number(test.range.value.0), number(test.range.value.1));
        zones(program.parts().scale, levels, low, high)
    }
}

fn zones(scale: Scale, levels: u32, low: Number, high: Number) -> Vec<Between> {
    let steps = i64::from(levels) - 1;
    // The pulse so many quarter steps above the lowest level; `None` where it can't be kept exactly.
    let at = |quarters: i64| {
        let share = Number::new(quarters * 2, steps * 4);
        let pulse = scale.centre.checked_sub(&scale.span)?.checked_add(&scale.span.checked_mul(&share)?)?;
        fits(pulse).then_some(pulse)
    };
    let inside = |index: i64| at(index * 4).is_some_and(|pulse| (low..=high).contains(&pulse));
    let zone = |index: i64| {
        let bound = |quarters| Some(Some(Bound { at: at(quarters)?, strict: true }));
        Some(Between { pulses: Bounds { low: bound(index * 4 + 1)?, high: bound(index * 4 + 3)? } })
    };
    (0..steps).filter(|&index| inside(index) != inside(index + 1)).filter_map(zone).collect()
}

/// A range for a mode at the upper end of what a channel reaches, with room on both sides (common practice, no source).
pub fn reachable_range(range: &Range) -> (i64, i64) {
    ((range.high - 150.0).round() as i64, (range.high + 50.0).round() as i64)
}
