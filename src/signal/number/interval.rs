//! Closed intervals of `f64`, rounded outwards: every operation's result encloses all exact results (IEEE 1788's notion of
//! an interval extension). Ends stay exact where the floating-point result is exact, which is the common case here.

use crate::signal::number::rational64::Rational64;

/// All numbers from `low` to `high`, ends included; `low <= high`, never NaN, possibly infinite.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) struct Interval {
    pub(in crate::signal) low: f64,
    pub(in crate::signal) high: f64,
}

/// Below this size a product may lose digits without a trace, so it is widened by as much.
const TINY: f64 = 1e-250;

impl Interval {
    /// Every number.
    pub(in crate::signal) const ALL: Self = Self { low: f64::NEG_INFINITY, high: f64::INFINITY };

    pub(in crate::signal) const fn point(at: f64) -> Self {
        Self { low: at, high: at }
    }

    pub(in crate::signal) fn of(fix: Rational64) -> Self {
        Self { low: fix.below(), high: fix.above() }
    }

    pub(in crate::signal) const fn hull(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.max(other.high) }
    }

    pub(in crate::signal) fn width(self) -> f64 {
        self.high - self.low
    }

    pub(in crate::signal) fn negate(self) -> Self {
        Self { low: -self.high, high: -self.low }
    }

    pub(in crate::signal) fn add(self, other: Self) -> Self {
        Self { low: sum(self.low, other.low).low, high: sum(self.high, other.high).high }.checked()
    }

    pub(in crate::signal) fn sub(self, other: Self) -> Self {
        self.add(other.negate())
    }

    pub(in crate::signal) fn mul(self, other: Self) -> Self {
        let ends = [
            product(self.low, other.low),
            product(self.low, other.high),
            product(self.high, other.low),
            product(self.high, other.high),
        ];
        let low = ends.iter().fold(f64::INFINITY, |m, e| m.min(e.low));
        let high = ends.iter().fold(f64::NEG_INFINITY, |m, e| m.max(e.high));
        Self { low, high }.checked()
    }

    /// Divided by a positive number.
    pub(in crate::signal) fn div(self, by: f64) -> Self {
        Self { low: quotient(self.low, by).low, high: quotient(self.high, by).high }.checked()
    }

    /// Times an exact fraction.
    pub(in crate::signal) fn scale(self, by: Rational64) -> Self {
        if by == Rational64::ONE {
            return self;
        }
        let (n, d) = by.parts();
        let times = self.mul(Self::point(n));
        if d == 1.0 { times } else { times.div(d) }
    }

    /// To a power of at least 1: an even one is never negative.
    pub(in crate::signal) fn power(self, n: usize) -> Self {
        if n.is_multiple_of(2) {
            let (a, b) = (self.low.abs(), self.high.abs());
            let low = if self.low <= 0.0 && self.high >= 0.0 { 0.0 } else { a.min(b) };
            return Self { low: raise(low, n).low.max(0.0), high: raise(a.max(b), n).high }.checked();
        }
        Self { low: raise(self.low, n).low, high: raise(self.high, n).high }.checked()
    }

    pub(in crate::signal) const fn min(self, other: Self) -> Self {
        Self { low: self.low.min(other.low), high: self.high.min(other.high) }
    }

    pub(in crate::signal) const fn max(self, other: Self) -> Self {
        Self { low: self.low.max(other.low), high: self.high.max(other.high) }
    }

    /// Everything where an end is not a number or overflowed.
    fn checked(self) -> Self {
        if self.low.is_finite() && self.high.is_finite() { self } else { Self::ALL }
    }
}

/// The sum of two numbers: both ends equal where it is exact. The error is Knuth's two-sum.
fn sum(a: f64, b: f64) -> Interval {
    let s = a + b;
    let t = s - a;
    let error = (a - (s - t)) + (b - t);
    rounded(s, error)
}

fn product(a: f64, b: f64) -> Interval {
    let p = a * b;
    if p.abs() < TINY {
        let exact = a == 0.0 || b == 0.0;
        return if exact { Interval::point(0.0) } else { Interval { low: p - TINY, high: p + TINY } };
    }
    rounded(p, a.mul_add(b, -p))
}

/// `a / b` for b > 0. The sign of the remainder tells on which side the true quotient lies.
fn quotient(a: f64, b: f64) -> Interval {
    let q = a / b;
    if q.abs() < TINY {
        return if a == 0.0 { Interval::point(0.0) } else { Interval { low: q - TINY, high: q + TINY } };
    }
    rounded(q, (-q).mul_add(b, a))
}

fn raise(a: f64, n: usize) -> Interval {
    (1..n).fold(Interval::point(a), |so_far, _| {
        let (x, y) = (product(so_far.low, a), product(so_far.high, a));
        x.hull(y)
    })
}

/// The interval of a rounded result whose error has this sign; one that is no number encloses everything.
fn rounded(value: f64, error: f64) -> Interval {
    if error == 0.0 {
        Interval::point(value)
    } else if error > 0.0 {
        Interval { low: value, high: value.next_up() }
    } else if error < 0.0 {
        Interval { low: value.next_down(), high: value }
    } else {
        Interval::ALL
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::number::big::{Big, from_f64};
    use proptest::prelude::*;

    /// Crate inari 2.0.0 (IEEE 1788-2015) gives these.
    #[test]
    fn results_agree_with_a_library_of_the_standard() {
        let at = Interval::point;
        assert_eq!(at(0.1).add(at(0.2)), Interval { low: 0.3, high: 0.300_000_000_000_000_04 });
        assert_eq!(Interval { low: -1.0, high: 1.0 }.mul(at(0.3)), Interval { low: -0.3, high: 0.3 });
        let wide = Interval { low: -1.0, high: 2.0 };
        assert_eq!(wide.power(2), Interval { low: 0.0, high: 4.0 });
        assert_eq!(wide.mul(wide), Interval { low: -2.0, high: 4.0 });
    }

    #[test]
    fn overflow_and_underflow_enclose() {
        let huge = Interval::point(1e300);
        assert_eq!(huge.mul(huge), Interval::ALL);
        let tiny = Interval::point(1e-200).mul(Interval::point(1e-200));
        assert!(tiny.low < 0.0 && tiny.high > 0.0);
    }

    fn encloses(interval: Interval, value: &Big) -> bool {
        from_f64(interval.low) <= *value && *value <= from_f64(interval.high)
    }

    proptest! {
        #[test]
        fn every_operation_encloses(a in -1e6..1e6_f64, b in -1e6..1e6_f64, n in 1_usize..6, d in 1.0..1e4_f64) {
            let (x, y) = (from_f64(a), from_f64(b));
            let (i, j) = (Interval::point(a), Interval::point(b));
            prop_assert!(encloses(i.add(j), &(&x + &y)));
            prop_assert!(encloses(i.sub(j), &(&x - &y)));
            prop_assert!(encloses(i.mul(j), &(&x * &y)));
            prop_assert!(encloses(i.div(d), &(&x / from_f64(d))));
            let power = (1..n).fold(x.clone(), |p, _| p * &x);
            prop_assert!(encloses(i.power(n), &power));
        }
    }
}
