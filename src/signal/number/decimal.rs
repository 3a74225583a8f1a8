//! Exact numbers of a description, and how they become floating-point numbers once.

use num_bigint::BigInt;
use num_rational::{BigRational, Ratio};
use num_traits::{ToPrimitive, Zero};

/// An exact number as a description states it: a reduced fraction of two 64-bit integers.
///
/// Both parts must stay within ±2^53 ([`fits`]), so that the nearest `f64` of two different decimals keeps their order.
/// Never do arithmetic on it: it could overflow. Comparing is safe.
pub type Number = Ratio<i64>;

/// An exact number of any size.
pub(in crate::signal) type Big = BigRational;

/// The largest numerator and denominator a description's number may have.
pub const LARGEST_PART: i64 = 1 << 53;

/// The whole number `value`.
pub const fn whole(value: i64) -> Number {
    Ratio::new_raw(value, 1)
}

/// The decimal `mantissa / 10^scale`, as text such as `-12.50` states it; `None` where it does not fit.
pub fn decimal(mantissa: i64, scale: u32) -> Option<Number> {
    let number = Ratio::new(mantissa, 10_i64.checked_pow(scale)?);
    fits(number).then_some(number)
}

/// Whether both parts of `number` lie within ±[`LARGEST_PART`] and the denominator is positive.
pub fn fits(number: Number) -> bool {
    number.numer().unsigned_abs() <= LARGEST_PART.unsigned_abs() && (1..=LARGEST_PART).contains(number.denom())
}

/// `number` without a bound on its size.
pub(in crate::signal) fn big(number: Number) -> Big {
    Ratio::new_raw(BigInt::from(*number.numer()), BigInt::from(*number.denom()))
}

/// The nearest `f64`. Correctly rounded because both parts are exact in an `f64` ([`fits`]).
pub fn nearest(number: Number) -> f64 {
    *number.numer() as f64 / *number.denom() as f64
}

/// An `f64` within a few units in the last place of `value`.
pub(in crate::signal) fn roughly(value: &Big) -> f64 {
    value.to_f64().unwrap_or(0.0)
}

/// The closest [`f64`] numbers `(below, above)` that are known to enclose `value`; equal where `value` is one of them.
pub(in crate::signal) fn enclose(value: &Big) -> (f64, f64) {
    let mut low = roughly(value);
    let mut high = low;
    while from_f64(low) > *value {
        low = low.next_down();
    }
    while from_f64(high) < *value {
        high = high.next_up();
    }
    // The conversion may be off by a few steps, so the inner side is tightened too.
    while from_f64(low.next_up()) <= *value && low < high {
        low = low.next_up();
    }
    while from_f64(high.next_down()) >= *value && low < high {
        high = high.next_down();
    }
    (low, high)
}

/// The exact value of a finite `f64`; 0 for others, which the signal path never makes.
pub(in crate::signal) fn from_f64(value: f64) -> Big {
    BigRational::from_float(value).unwrap_or_else(Big::zero)
}

/// `value` as a [`Number`], where it is small enough.
pub(in crate::signal) fn narrow(value: &Big) -> Option<Number> {
    let number = Ratio::new_raw(value.numer().to_i64()?, value.denom().to_i64()?);
    fits(number).then_some(number)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact() {
        assert_eq!(decimal(-1250, 2), Some(Ratio::new(-25, 2)));
        assert_eq!(decimal(1, 19), None);
        assert_eq!(decimal(i64::MAX, 0), None);
        assert_eq!(nearest(decimal(1, 1).unwrap()), 0.1);
    }

    #[test]
    fn enclosures_are_tight() {
        assert_eq!(enclose(&big(whole(3))), (3.0, 3.0));
        let tenth = big(decimal(1, 1).unwrap());
        let (low, high) = enclose(&tenth);
        assert!(from_f64(low) < tenth && tenth < from_f64(high));
        assert_eq!(low.next_up(), high);
    }
}
