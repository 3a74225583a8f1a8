//! Values compared with limits, taken apart into conditions on single variables wherever that can be done exactly.
//!
//! "Channel 1 is above 1650 us" becomes a condition on where a stick or a switch stands, through output, value lines and
//! curves. Only sums and products of several variables stay values that are compared as they are.

use super::fix::Fix;
use super::interval::Interval;
use super::net::{Bit, BitId, Kind, Net, Num, NumId, VarId};
use super::program::{Program, switch_value};
use super::real::Real;
use std::cmp::Ordering;

/// Where a value that rises or falls steadily meets a limit.
pub(super) enum Crossing {
    /// Exactly here.
    At(Fix),
    /// Between these two, where it can't be told.
    Between(Fix, Fix),
}

impl Net {
    /// A value is above (strict), or at least (not strict), a limit.
    pub(super) fn over(&mut self, program: &Program, num: NumId, strict: bool, limit: Fix) -> BitId {
        if let Num::Const(value) = self.num(num) {
            return self.constant(if strict { value > limit } else { value >= limit });
        }
        // What leads on to one value alone is not worth remembering.
        if let Some(bit) = self.straight(program, num, strict, limit) {
            return bit;
        }
        let key = (num, strict, limit);
        if let Some(&known) = self.made.over.get(&key) {
            return known;
        }
        let apart = match self.made.fuel.checked_sub(1) {
            Some(fuel) => {
                self.made.fuel = fuel;
                self.apart(program, num, strict, limit)
            }
            None => None,
        };
        let bit = apart.unwrap_or_else(|| self.bit_node(Bit::Over { num, strict, limit }));
        self.made.over.insert(key, bit);
        bit
    }

    /// Through a multiple of one value, or a value kept within a constant.
    fn straight(&mut self, program: &Program, num: NumId, strict: bool, limit: Fix) -> Option<BitId> {
        match self.num(num) {
            Num::Lin { constant, terms } => {
                let &[(by, term)] = self.terms(terms) else { return None };
                let inner = limit.sub(constant)?.div(by)?;
                if by.is_negative() {
                    let over = self.over(program, term, !strict, inner);
                    return Some(self.not(over));
                }
                Some(self.over(program, term, strict, inner))
            }
            Num::Min(a, b) | Num::Max(a, b) => {
                let least = matches!(self.num(num), Num::Min(..));
                let (end, other) = match (self.num(a), self.num(b)) {
                    (Num::Const(end), _) => (end, b),
                    (_, Num::Const(end)) => (end, a),
                    _ => return None,
                };
                match if strict { end > limit } else { end >= limit } {
                    over if over == least => Some(self.over(program, other, strict, limit)),
                    over => Some(self.constant(over)),
                }
            }
            _ => None,
        }
    }

    fn apart(&mut self, program: &Program, num: NumId, strict: bool, limit: Fix) -> Option<BitId> {
        Some(match self.num(num) {
            Num::Const(_) | Num::Lin { .. } | Num::Mul(..) | Num::Square(_) => return None,
            Num::Var(var) => match self.kind(var) {
                Kind::Switch(n) => self.position_over(var, n, strict, limit),
                Kind::Axis(reach) => self.axis_over(var, reach, strict, limit),
            },
            Num::Min(a, b) => {
                let (a, b) = (self.over(program, a, strict, limit), self.over(program, b, strict, limit));
                self.and(a, b)
            }
            Num::Max(a, b) => {
                let (a, b) = (self.over(program, a, strict, limit), self.over(program, b, strict, limit));
                self.or(a, b)
            }
            Num::Choose { lines, otherwise } => {
                let mut found = self.over(program, otherwise, strict, limit);
                for at in lines.range().rev() {
                    let (when, value) = self.line(at);
                    let over = self.over(program, value, strict, limit);
                    found = self.either(when, over, found);
                }
                found
            }
            Num::Expo { of, k } => match expo_crossing(k, limit)? {
                Some(crossing) => self.beyond(program, of, strict, &crossing),
                // The argument is a stick, whose ends are mapped to themselves.
                None => self.constant(limit.is_negative()),
            },
            Num::Curve { curve, of } => {
                let shape = program.shapes.get(usize::from(curve))?;
                let (mut truth, crossings) = shape.crossings(strict, limit)?;
                let mut found = self.constant(truth);
                for crossing in &crossings {
                    // Where it falls under the limit, the limit itself still counts if it is to be at least reached.
                    let beyond = self.beyond(program, of, strict != truth, crossing);
                    truth = !truth;
                    let now = self.constant(truth);
                    found = self.either(beyond, now, found);
                }
                found
            }
        })
    }

    /// The argument is past a crossing: above it, or (not strict) at least there.
    fn beyond(&mut self, program: &Program, of: NumId, strict: bool, crossing: &Crossing) -> BitId {
        match *crossing {
            Crossing::At(at) => self.over(program, of, strict, at),
            Crossing::Between(low, high) => {
                let (sure, maybe) = (self.over(program, of, true, high), self.over(program, of, true, low));
                let close = self.bit_node(Bit::Close);
                let maybe = self.and(maybe, close);
                self.or(sure, maybe)
            }
        }
    }

    fn position_over(&mut self, var: VarId, n: u8, strict: bool, limit: Fix) -> BitId {
        let over = |at: &u8| {
            let value = Fix::of(switch_value(*at, usize::from(n)));
            if strict { value > limit } else { value >= limit }
        };
        let mask = (0..n).filter(over).fold(0, |mask, at| mask | 1 << at);
        self.stands_in(var, mask)
    }

    fn axis_over(&mut self, var: VarId, reach: Fix, strict: bool, limit: Fix) -> BitId {
        match (limit.cmp(&reach), limit.cmp(&reach.negate())) {
            (Ordering::Greater, _) => self.constant(false),
            (Ordering::Equal, _) if strict => self.constant(false),
            (_, Ordering::Less) => self.constant(true),
            (_, Ordering::Equal) if !strict => self.constant(true),
            _ => self.bit_node(Bit::Above { var, strict, limit }),
        }
    }
}

/// The steps of a crossing that is not exact, in parts of a percent.
const STEPS: f64 = 1_073_741_824.0;

/// Where expo `k` gives `limit`, for arguments from −100 to 100; `Some(None)` where it lies beyond its ends.
fn expo_crossing(k: Fix, limit: Fix) -> Option<Option<Crossing>> {
    if limit > Fix::HUNDRED || limit < Fix::HUNDRED.negate() {
        return Some(None);
    }
    let (share, goal) = (k.near() / 100.0, limit.near() / 100.0);
    let near = root(-1.0, 1.0, |x| x * (share * x * x + 1.0 - share) - goal) * 100.0;
    let exactly = |x: Fix| {
        let (x, k) = (Real::Small(x), Real::Small(k));
        let bend = k.mul(&x).mul(&x).div(&Real::whole(10_000));
        let factor = Real::HUNDRED.sub(&k).add(&bend);
        x.mul(&factor).div(&Real::HUNDRED).cmp(&Real::Small(limit))
    };
    let (below, above) = (limit.below(), limit.above());
    let enclosed = |x: f64| {
        let value = expo(Interval::point(x), k);
        (value.high < below, value.low > above)
    };
    crossing(near, true, exactly, enclosed).map(Some)
}

/// Where a steady function whose values at the two ends have different signs is 0, about: the rule of false position, as
/// changed at the University of Illinois (Dowell & Jarratt, BIT 11 (1971) 168-174, from memory).
pub(super) fn root(mut a: f64, mut b: f64, of: impl Fn(f64) -> f64) -> f64 {
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
pub(super) fn crossing(
    near: f64,
    rising: bool,
    exactly: impl Fn(Fix) -> Ordering,
    enclosed: impl Fn(f64) -> (bool, bool),
) -> Option<Crossing> {
    for round in [1.0, 120.0, 1024.0] {
        let candidate = (near * round).round() / round;
        if (candidate - near).abs() < 1e-11 {
            let at = Fix::whole((near * round).round() as i64).div(Fix::whole(round as i64))?;
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
            return Some(Crossing::Between(Fix::dyadic(low / STEPS)?, Fix::dyadic(high / STEPS)?));
        }
    }
    None
}

/// The expo of a value in percent, enclosed.
pub(super) fn expo(x: Interval, k: Fix) -> Interval {
    let hundred = Interval::of(Fix::HUNDRED);
    let cube = x.mul(x.power(2)).div(10_000.0);
    let straight = x.mul(hundred.sub(Interval::of(k)));
    cube.mul(Interval::of(k)).add(straight).div(100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The formula of DESIGN 4.2 in exact numbers: what is said to lie under the limit does, and what is said to lie over
        /// it does.
        #[test]
        fn expo_meets_its_limits_where_it_is_said(k in 0_i64..=100, tenths in -1000_i64..=1000) {
            let k = Fix::whole(k);
            let Some(limit) = Fix::whole(tenths).div(Fix::whole(10)) else { return Ok(()) };
            let value = |x: Fix| {
                let (x, k) = (Real::Small(x).div(&Real::HUNDRED), Real::Small(k).div(&Real::HUNDRED));
                let cube = x.mul(&x).mul(&x).mul(&k);
                cube.add(&Real::ONE.sub(&k).mul(&x)).mul(&Real::HUNDRED)
            };
            match expo_crossing(k, limit) {
                Some(Some(Crossing::At(at))) => prop_assert_eq!(value(at), Real::Small(limit)),
                Some(Some(Crossing::Between(low, high))) => {
                    prop_assert!(value(low) < Real::Small(limit) && Real::Small(limit) < value(high));
                    prop_assert!(high.near() - low.near() < 1e-5);
                }
                Some(None) => prop_assert!(false, "{tenths} tenths are within its ends"),
                None => prop_assert!(tenths.abs() < 10, "{tenths} tenths were not found"),
            }
        }
    }
}
