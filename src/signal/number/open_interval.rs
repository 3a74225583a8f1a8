//! Ranges of values with ends that may be left out, enclosed by floating-point numbers.

use crate::signal::number::interval::Interval;
use crate::signal::number::rational64::Rational64;

/// All values lie between the ends; an end that is `open` is not among them. Where an end was rounded it lies outside of
/// the exact one, and what is said of its openness holds of the exact one.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) struct OpenInterval {
    pub(in crate::signal) ends: Interval,
    pub(in crate::signal) low_open: bool,
    pub(in crate::signal) high_open: bool,
}

impl OpenInterval {
    pub(in crate::signal) const ALL: Self = Self { ends: Interval::ALL, low_open: false, high_open: false };

    pub(in crate::signal) fn of(ends: Interval) -> Self {
        Self { ends, low_open: false, high_open: false }
    }

    pub(in crate::signal) fn point(value: Rational64) -> Self {
        Self::of(Interval::of(value))
    }

    pub(in crate::signal) fn width(self) -> f64 {
        self.ends.width()
    }

    pub(in crate::signal) fn add(self, other: Self) -> Self {
        Self {
            ends: self.ends.add(other.ends),
            low_open: self.low_open || other.low_open,
            high_open: self.high_open || other.high_open,
        }
    }

    /// Times a number that is not 0.
    pub(in crate::signal) fn scale(self, by: Rational64) -> Self {
        let ends = self.ends.scale(by);
        if by.is_negative() {
            Self { ends, low_open: self.high_open, high_open: self.low_open }
        } else {
            Self { ends, ..self }
        }
    }

    /// Everything in either.
    pub(in crate::signal) fn hull(self, other: Self) -> Self {
        let (a, b) = (self.ends, other.ends);
        let low_open = if a.low == b.low {
            self.low_open && other.low_open
        } else if a.low < b.low {
            self.low_open
        } else {
            other.low_open
        };
        let high_open = if a.high == b.high {
            self.high_open && other.high_open
        } else if a.high > b.high {
            self.high_open
        } else {
            other.high_open
        };
        Self { ends: a.hull(b), low_open, high_open }
    }

    /// The lesser of a value of each, which may hang together.
    pub(in crate::signal) fn min(self, other: Self) -> Self {
        let (a, b) = (self.ends, other.ends);
        let low_open = if a.low < b.low {
            self.low_open
        } else if b.low < a.low {
            other.low_open
        } else {
            self.low_open && other.low_open
        };
        let high_open = if a.high < b.high {
            self.high_open
        } else if b.high < a.high {
            other.high_open
        } else {
            self.high_open || other.high_open
        };
        Self { ends: a.min(b), low_open, high_open }
    }

    /// The greater of a value of each.
    pub(in crate::signal) fn max(self, other: Self) -> Self {
        let turn = |span: Self| Self { ends: span.ends.negate(), low_open: span.high_open, high_open: span.low_open };
        turn(turn(self).min(turn(other)))
    }

    /// Whether every value is above (strict) or at least a limit, or none is; `None` where some may be.
    pub(in crate::signal) fn over(self, strict: bool, limit: Rational64) -> Option<bool> {
        let (below, above) = (limit.below(), limit.above());
        let all = self.ends.low > above || (self.ends.low >= above && below == above && (!strict || self.low_open));
        if all {
            return Some(true);
        }
        let none = self.ends.high < below || (self.ends.high <= below && below == above && (strict || self.high_open));
        none.then_some(false)
    }
}
