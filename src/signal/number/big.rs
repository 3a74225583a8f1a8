//! Exact numbers of any size, and how they become floating-point numbers once.

use num_rational::BigRational;
use num_traits::{ToPrimitive, Zero};

/// An exact number of any size.
pub(in crate::signal) type Big = BigRational;

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

#[cfg(test)]
mod tests {
    use super::*;
    use num_bigint::BigInt;

    #[test]
    fn enclosures_are_tight() {
        assert_eq!(enclose(&Big::from(BigInt::from(3))), (3.0, 3.0));
        let tenth = Big::new(BigInt::from(1), BigInt::from(10));
        let (low, high) = enclose(&tenth);
        assert!(from_f64(low) < tenth && tenth < from_f64(high));
        assert_eq!(low.next_up(), high);
    }
}
