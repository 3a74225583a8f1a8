//! Where a steady function meets a limit: found in floating point, then shown in exact numbers.

use crate::signal::number::rational64::Rational64;
use std::cmp::Ordering;

/// Where a value that rises or falls steadily meets a limit.
pub(in crate::signal) enum Crossing {
    /// Exactly here.
    At(Rational64),
    /// Between these two, where it can't be told.
    Between(Rational64, Rational64),
}

/// The steps of a crossing that is not exact, in parts of a percent.
const STEPS: f64 = 1_073_741_824.0;

/// Where a steady function whose values at the two ends have different signs is 0, about: the rule of false position, as
/// changed at the University of Illinois (Dowell & Jarratt, BIT 11 (1971) 168-174, from memory).
pub(in crate::signal) fn root(mut a: f64, mut b: f64, of: impl Fn(f64) -> f64) -> f64 {
    let (mut at_a, mut at_b) = (of(a), of(b));
    for _ in 0..60 {
        let next = b - at_b * (b - a) / (at_b - at_a);
        if !next.is_finite() || (next - b).abs() < 1e-13 {
            break;
        }
        let value = of(next);
        if (value < 0.0) == (at_b < 0.0) {
            at_a /= 2.0;
        } else {
            (a, at_a) = (b, at_b);
        }
        (b, at_b) = (next, value);
    }
    b
}

/// A crossing near a place, proved: exact where a round number gives the limit, else between two steps, of which one is
/// shown to lie below the limit and the other above it (`enclosed` tells both of an argument). `None` where that fails.
pub(in crate::signal) fn crossing(
    near: f64,
    rising: bool,
    exactly: impl Fn(Rational64) -> Ordering,
    enclosed: impl Fn(f64) -> (bool, bool),
) -> Option<Crossing> {
    for round in [1.0, 120.0, 1024.0] {
        let candidate = (near * round).round() / round;
        if (candidate - near).abs() < 1e-11 {
            let at = Rational64::whole((near * round).round() as i64).div(Rational64::whole(round as i64))?;
            if exactly(at) == Ordering::Equal {
                return Some(Crossing::At(at));
            }
        }
    }
    for width in [1.0, 64.0, 4096.0] {
        let (low, high) = ((near * STEPS).floor() - width, (near * STEPS).floor() + 1.0 + width);
        let (below, above) = (enclosed(low / STEPS), enclosed(high / STEPS));
        let shown = if rising { below.0 && above.1 } else { below.1 && above.0 };
        if shown {
            return Some(Crossing::Between(Rational64::dyadic(low / STEPS)?, Rational64::dyadic(high / STEPS)?));
        }
    }
    None
}
