//! Short ways to write parts, conditions and values by hand: what rules and tests use.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::parts::*;
use compact_str::CompactString;

impl Control {
    /// A stick without trim or rates.
    pub fn stick(name: &str, function: Function) -> Self {
        Self {
            name: name.into(),
            kind: ControlKind::Stick {
                function,
                trim: None,
                rates: Vec::new(),
                sprung: function != Function::Throttle,
            },
        }
    }

    /// A knob or slider.
    pub fn axis(name: &str) -> Self {
        Self { name: name.into(), kind: ControlKind::Axis { sprung_to_low: false } }
    }

    /// A switch that stays where it is put.
    pub fn switch(name: &str, positions: &[&str]) -> Self {
        let positions = positions.iter().map(|&p| p.into()).collect::<Vec<_>>().into();
        Self { name: name.into(), kind: ControlKind::Switch { positions, sprung_to: None } }
    }

    /// What telemetry decides.
    pub fn reported(name: &str) -> Self {
        Self { name: name.into(), kind: ControlKind::Reported }
    }

    /// A button that springs back.
    pub fn button(name: &str) -> Self {
        Self { name: name.into(), kind: ControlKind::Button { stays: false } }
    }
}

impl Channel {
    /// A channel that always has this value, with the defaults of the language, carried unchanged.
    pub fn new(number: u16, value: Value) -> Self {
        Self::of(number, vec![Line { value, when: None }])
    }

    /// A channel with these value lines, with the defaults of the language, carried unchanged.
    pub fn of(number: u16, lines: Vec<Line>) -> Self {
        Self {
            number,
            name: CompactString::default(),
            lines,
            reversed: false,
            subtrim: whole(0),
            ends: (whole(-100), whole(100)),
            travel: (whole(-100), whole(100)),
            centre: None,
            carriage: Carriage::Unchanged,
        }
    }

    /// The same channel on n levels.
    pub fn levels(self, n: u32) -> Self {
        Self { carriage: Carriage::Levels(n), ..self }
    }
}

impl Line {
    /// A line that always holds.
    pub fn always(value: Value) -> Self {
        Self { value, when: None }
    }

    /// A line under a condition.
    pub fn when(value: Value, when: Condition) -> Self {
        Self { value, when: Some(when) }
    }
}

impl Value {
    /// A whole number of percent.
    pub fn percent(value: i64) -> Self {
        Self::Percent(whole(value))
    }

    /// `self + other`.
    pub fn plus(self, other: Self) -> Self {
        Self::Add(Box::new(self), Box::new(other))
    }

    /// `self - other`.
    pub fn minus(self, other: Self) -> Self {
        Self::Subtract(Box::new(self), Box::new(other))
    }

    /// `self * other`.
    pub fn times(self, other: Self) -> Self {
        Self::Multiply(Box::new(self), Box::new(other))
    }

    /// The curve of this value.
    pub fn through(self, curve: CurveId) -> Self {
        Self::Curve(curve, Box::new(self))
    }
}

impl Bounds {
    /// Strictly above.
    pub const fn above(at: Rational64) -> Self {
        Self { low: Some(Bound { at, strict: true }), high: None }
    }

    /// At or above.
    pub const fn at_least(at: Rational64) -> Self {
        Self { low: Some(Bound { at, strict: false }), high: None }
    }

    /// Strictly below.
    pub const fn below(at: Rational64) -> Self {
        Self { low: None, high: Some(Bound { at, strict: true }) }
    }

    /// At or below.
    pub const fn at_most(at: Rational64) -> Self {
        Self { low: None, high: Some(Bound { at, strict: false }) }
    }

    /// From `low` to `high`, ends included.
    pub const fn between(low: Rational64, high: Rational64) -> Self {
        Self { low: Some(Bound { at: low, strict: false }), high: Some(Bound { at: high, strict: false }) }
    }
}

impl Condition {
    /// A switch or button in this position.
    pub const fn at(control: ControlId, position: u8) -> Self {
        Self::At(control, Position::Index(position))
    }

    /// A switch or button brought to this position by the movement just made.
    pub const fn becomes(control: ControlId, position: u8) -> Self {
        Self::Becomes(control, Position::Index(position))
    }

    /// The pulse received on a channel lies in the range.
    pub const fn received(channel: u16, bounds: Bounds) -> Self {
        Self::Channel(channel, Measure::Received, bounds)
    }

    /// The pulse sent on a channel lies in the range.
    pub const fn sent(channel: u16, bounds: Bounds) -> Self {
        Self::Channel(channel, Measure::Sent, bounds)
    }

    /// A mode is on, by the pulses received.
    pub const fn mode(mode: ModeId) -> Self {
        Self::Mode(mode, Measure::Received)
    }

    /// Both.
    pub fn and(self, other: Self) -> Self {
        Self::All(vec![self, other])
    }

    /// Either.
    pub fn or(self, other: Self) -> Self {
        Self::Any(vec![self, other])
    }

    /// The contrary.
    #[expect(clippy::should_implement_trait, reason = "reads as the language's own word; an operator would hide it")]
    pub fn not(self) -> Self {
        Self::Not(Box::new(self))
    }
}
