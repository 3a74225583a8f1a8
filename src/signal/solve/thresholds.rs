//! Values compared with limits, taken apart into conditions on single variables wherever that can be done exactly.
//!
//! "Channel 1 is above 1660 us" becomes a condition on where a stick or a switch stands, through output, value lines and
//! curves. Only sums and products of several variables stay values that are compared as they are.

use crate::signal::number::crossing::{Crossing, crossing, root};
use crate::signal::number::interval::Interval;
use crate::signal::number::rational::Rational;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::{Compiled, switch_value};
use crate::signal::solve::dag::{Bit, BitId, Dag, Kind, Num, NumId, VarId};
use std::cmp::Ordering;

impl Dag {
    /// A value is above (strict), or at least (not strict), a limit.
    pub(in crate::signal) fn over(&mut self, program: &Compiled, num: NumId, strict: bool, limit: Rational64) -> BitId {
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
    fn straight(&mut self, program: &Compiled, num: NumId, strict: bool, limit: Rational64) -> Option<BitId> {
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

    fn apart(&mut self, program: &Compiled, num: NumId, strict: bool, limit: Rational64) -> Option<BitId> {
        Some(match self.num(num) {
            Num::Const(_) | Num::Unknown(_) | Num::Lin { .. } | Num::Mul(..) | Num::Square(_) => return None,
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
                Some(crossing) => self.beyond(program, (num, limit), of, strict, &crossing),
                // The argument is a stick, whose ends are mapped to themselves.
                None => self.constant(limit.is_negative()),
            },
            Num::Curve { curve, of } => {
                let shape = program.shapes.get(usize::from(curve))?;
                let (mut truth, crossings) = shape.crossings(strict, limit)?;
                let mut found = self.constant(truth);
                for crossing in &crossings {
                    // Where it falls under the limit, the limit itself still counts if it is to be at least reached.
                    let beyond = self.beyond(program, (num, limit), of, strict != truth, crossing);
                    truth = !truth;
                    let now = self.constant(truth);
                    found = self.either(beyond, now, found);
                }
                found
            }
        })
    }

    /// The argument is past a crossing of a value with a limit: above it, or (not strict) at least there.
    fn beyond(
        &mut self,
        program: &Compiled,
        (num, limit): (NumId, Rational64),
        of: NumId,
        strict: bool,
        crossing: &Crossing,
    ) -> BitId {
        match *crossing {
            Crossing::At(at) => self.over(program, of, strict, at),
            Crossing::Between(low, high) => {
                let (sure, maybe) = (self.over(program, of, true, high), self.over(program, of, true, low));
                let close = self.bit_node(Bit::Close { num, limit, strict, low });
                let maybe = self.and(maybe, close);
                self.or(sure, maybe)
            }
        }
    }

    fn position_over(&mut self, var: VarId, n: u8, strict: bool, limit: Rational64) -> BitId {
        let over = |at: &u8| {
            let value = switch_value(*at, usize::from(n));
            if strict { value > limit } else { value >= limit }
        };
        let mask = (0..n).filter(over).fold(0, |mask, at| mask | 1 << at);
        self.stands_in(var, mask)
    }

    fn axis_over(&mut self, var: VarId, reach: Rational64, strict: bool, limit: Rational64) -> BitId {
        match (limit.cmp(&reach), limit.cmp(&reach.negate())) {
            (Ordering::Greater, _) => self.constant(false),
            (Ordering::Equal, _) if strict => self.constant(false),
            (_, Ordering::Less) => self.constant(true),
            (_, Ordering::Equal) if !strict => self.constant(true),
            _ => self.bit_node(Bit::Above { var, strict, limit }),
        }
    }
}

/// Where expo `k` gives `limit`, for arguments from −100 to 100; `Some(None)` where it lies beyond its ends.
fn expo_crossing(k: Rational64, limit: Rational64) -> Option<Option<Crossing>> {
    if limit > Rational64::HUNDRED || limit < Rational64::HUNDRED.negate() {
        return Some(None);
    }
    let (share, goal) = (k.near() / 100.0, limit.near() / 100.0);
    let near = root(-1.0, 1.0, |x| x * (share * x * x + 1.0 - share) - goal) * 100.0;
    let exactly = |x: Rational64| {
        let (x, k) = (Rational::Small(x), Rational::Small(k));
        let bend = k.mul(&x).mul(&x).div(&Rational::whole(10_000));
        let factor = Rational::HUNDRED.sub(&k).add(&bend);
        x.mul(&factor).div(&Rational::HUNDRED).cmp(&Rational::Small(limit))
    };
    let (below, above) = (limit.below(), limit.above());
    let enclosed = |x: f64| {
        let value = expo(Interval::point(x), k);
        (value.high < below, value.low > above)
    };
    crossing(near, true, exactly, enclosed).map(Some)
}

/// The expo of a value in percent, enclosed.
pub(in crate::signal) fn expo(x: Interval, k: Rational64) -> Interval {
    let hundred = Interval::of(Rational64::HUNDRED);
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
            let k = Rational64::whole(k);
            let Some(limit) = Rational64::whole(tenths).div(Rational64::whole(10)) else { return Ok(()) };
            let value = |x: Rational64| {
                let (x, k) = (Rational::Small(x).div(&Rational::HUNDRED), Rational::Small(k).div(&Rational::HUNDRED));
                let cube = x.mul(&x).mul(&x).mul(&k);
                cube.add(&Rational::ONE.sub(&k).mul(&x)).mul(&Rational::HUNDRED)
            };
            match expo_crossing(k, limit) {
                Some(Some(Crossing::At(at))) => prop_assert_eq!(value(at), Rational::Small(limit)),
                Some(Some(Crossing::Between(low, high))) => {
                    prop_assert!(value(low) < Rational::Small(limit) && Rational::Small(limit) < value(high));
                    prop_assert!(high.near() - low.near() < 1e-5);
                }
                Some(None) => prop_assert!(false, "{tenths} tenths are within its ends"),
                None => prop_assert!(tenths.abs() < 10, "{tenths} tenths were not found"),
            }
        }
    }
}
