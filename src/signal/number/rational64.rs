//! Small exact fractions, of descriptions and of the compiled form: parts within ±2^53, arithmetic that says when it no longer
//! fits.

use crate::signal::number::big::Big;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::ToPrimitive;
use std::cmp::Ordering;
use std::fmt;

/// The largest numerator and denominator of a [`Rational64`].
pub const LARGEST_PART: i64 = 1 << 53;

/// A reduced fraction `n / d`, d > 0, both within ±[`LARGEST_PART`], so that the nearest `f64` of two decimals keeps their
/// order. It is checked where it is made; not fitting is `None` in every operation, never a wrong value.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Rational64 {
    n: i64,
    d: i64,
}

impl Rational64 {
    pub(in crate::signal) const ZERO: Self = Self::whole(0);
    pub(in crate::signal) const ONE: Self = Self::whole(1);
    pub(in crate::signal) const HALF: Self = Self { n: 1, d: 2 };
    pub(in crate::signal) const HUNDRED: Self = Self::whole(100);

    /// `n / d`, where it fits; `None` also where `d` is 0.
    pub fn new(n: i64, d: i64) -> Option<Self> {
        let sign = i128::from(d.signum());
        Self::reduce(sign * i128::from(n), sign * i128::from(d))
    }

    /// A whole number; beyond ±[`LARGEST_PART`] the nearest that can be kept.
    pub const fn whole(n: i64) -> Self {
        let n = if n > LARGEST_PART {
            LARGEST_PART
        } else if n < -LARGEST_PART {
            -LARGEST_PART
        } else {
            n
        };
        Self { n, d: 1 }
    }

    /// The decimal `mantissa / 10^scale`, as text such as `-12.50` states it; `None` where it does not fit.
    pub fn decimal(mantissa: i64, scale: u32) -> Option<Self> {
        Self::reduce_narrow(mantissa, 10_i64.checked_pow(scale)?)
    }

    /// `value`, where it fits.
    pub(in crate::signal) fn narrow(value: &Big) -> Option<Self> {
        // Numbers of any size are kept reduced.
        let (n, d) = (value.numer().to_i64()?, value.denom().to_i64()?);
        (n.unsigned_abs() <= LARGEST_PART.unsigned_abs() && (1..=LARGEST_PART).contains(&d)).then_some(Self { n, d })
    }

    /// `value` itself where it fits, else the nearest thousandth, and beyond ±[`LARGEST_PART`] the nearest number that can be kept:
    /// for limits that stand in no description, but are made of its numbers.
    pub fn rounded(value: &BigRational) -> Self {
        const PARTS: i64 = 1000;
        let thousandths = || (value * BigInt::from(PARTS)).round().to_i64().and_then(|n| Self::new(n, PARTS));
        let whole = || if value < &Self::ZERO.big() { -LARGEST_PART } else { LARGEST_PART };
        let steps = || value.round().to_i64().unwrap_or_else(whole);
        Self::narrow(value).or_else(thousandths).unwrap_or_else(|| Self::whole(steps()))
    }

    /// `value` without a bound on its size.
    pub fn big(self) -> BigRational {
        Big::new_raw(BigInt::from(self.n), BigInt::from(self.d))
    }

    /// An `f64`, where it is a multiple of 2^-40 of moderate size.
    pub(in crate::signal) fn dyadic(value: f64) -> Option<Self> {
        const STEPS: i64 = 1 << 40;
        let scaled = value * STEPS as f64;
        (scaled.abs() < 9e15 && scaled == scaled.trunc()).then_some(())?;
        Self::reduce_narrow(scaled as i64, STEPS)
    }

    /// The numerator, and the denominator above 0, without a common divisor.
    pub const fn ratio(self) -> (i64, i64) {
        (self.n, self.d)
    }

    /// The numerator and denominator; both are exact in an `f64`.
    pub(in crate::signal) const fn parts(self) -> (f64, f64) {
        (self.n as f64, self.d as f64)
    }

    /// The nearest `f64`: the order of two fractions is never turned round by it.
    pub fn near(self) -> f64 {
        if self.d == 1 { self.n as f64 } else { self.n as f64 / self.d as f64 }
    }

    /// Whether [`Self::near`] is the number itself.
    pub(in crate::signal) const fn is_near_exact(self) -> bool {
        self.d & (self.d - 1) == 0
    }

    /// An `f64` at or below, the next one to it at the most two steps away.
    pub(in crate::signal) fn below(self) -> f64 {
        if self.is_near_exact() { self.near() } else { self.near().next_down() }
    }

    /// An `f64` at or above.
    pub(in crate::signal) fn above(self) -> f64 {
        if self.is_near_exact() { self.near() } else { self.near().next_up() }
    }

    /// The number as text that [`Self::read`] reads: a decimal where it has one of at most six places, else a fraction.
    pub fn text(self) -> String {
        for places in 0..=6_usize {
            let parts = 10_i64.pow(places as u32);
            if parts % self.d == 0 {
                let n = i128::from(self.n) * i128::from(parts / self.d);
                let (sign, n, parts) = (if n < 0 { "-" } else { "" }, n.unsigned_abs(), parts.unsigned_abs());
                let whole = n / u128::from(parts);
                return match places {
                    0 => format!("{sign}{whole}"),
                    _ => format!("{sign}{whole}.{:0places$}", n % u128::from(parts)),
                };
            }
        }
        format!("{}/{}", self.n, self.d)
    }

    /// Whether it has a decimal of at most three places.
    pub(in crate::signal) const fn is_short(self) -> bool {
        1000 % self.d == 0
    }

    /// Whether it is 0.
    pub const fn is_zero(self) -> bool {
        self.n == 0
    }

    /// Whether it is below 0.
    pub const fn is_negative(self) -> bool {
        self.n < 0
    }

    /// The number of the other sign.
    pub const fn negate(self) -> Self {
        Self { n: -self.n, d: self.d }
    }

    pub(in crate::signal) fn add(self, other: Self) -> Option<Self> {
        if self.d == 1 && other.d == 1 {
            return Self::bounded(self.n + other.n);
        }
        if other.n == 0 {
            return Some(self);
        }
        let parts = (self.n.checked_mul(other.d), other.n.checked_mul(self.d), self.d.checked_mul(other.d));
        if let (Some(a), Some(b), Some(d)) = parts
            && let Some(n) = a.checked_add(b)
        {
            return Self::reduce_narrow(n, d);
        }
        let (n, d) = (i128::from(self.n), i128::from(self.d));
        let (m, e) = (i128::from(other.n), i128::from(other.d));
        Self::reduce(n * e + m * d, d * e)
    }

    pub(in crate::signal) fn sub(self, other: Self) -> Option<Self> {
        self.add(other.negate())
    }

    pub(in crate::signal) fn mul(self, other: Self) -> Option<Self> {
        match (self.n.checked_mul(other.n), self.d.checked_mul(other.d)) {
            (Some(n), Some(1)) => Self::bounded(n),
            (Some(n), Some(d)) => Self::reduce_narrow(n, d),
            _ => Self::reduce(i128::from(self.n) * i128::from(other.n), i128::from(self.d) * i128::from(other.d)),
        }
    }

    /// `self / other`; `None` also for a division by zero.
    pub(in crate::signal) fn div(self, other: Self) -> Option<Self> {
        let sign = other.n.signum();
        match (self.n.checked_mul(sign * other.d), self.d.checked_mul(sign * other.n)) {
            (Some(n), Some(1)) => Self::bounded(n),
            (Some(n), Some(d)) => Self::reduce_narrow(n, d),
            _ => {
                let sign = i128::from(sign);
                Self::reduce(
                    sign * i128::from(self.n) * i128::from(other.d),
                    sign * i128::from(self.d) * i128::from(other.n),
                )
            }
        }
    }

    /// The greatest whole number that is not above it.
    pub(in crate::signal) const fn floor(self) -> Self {
        Self::whole(self.n.div_euclid(self.d))
    }

    /// The least whole number that is not below it.
    pub(in crate::signal) const fn ceil(self) -> Self {
        Self::whole(-(-self.n).div_euclid(self.d))
    }

    /// The nearest of evenly spaced numbers to `self`: a whole `lowest` and up to `last` steps over it. A tie goes to the lower,
    /// beyond the ends the end. `None` where the way there does not fit.
    pub(in crate::signal) fn nearest_step(self, lowest: Self, step: Self, last: i64) -> Option<Self> {
        if lowest.d != 1 || step.n <= 0 {
            return None;
        }
        // How many steps `self` lies over the lowest, less a half, rounded up: all in whole numbers.
        let over = self.n.checked_sub(lowest.n.checked_mul(self.d)?)?.checked_mul(step.d)?;
        let step_of = self.d.checked_mul(step.n)?;
        let index = -(step_of.checked_sub(over.checked_mul(2)?)?).div_euclid(step_of.checked_mul(2)?);
        let up = step.n.checked_mul(index.clamp(0, last))?;
        Self::reduce_narrow(lowest.n.checked_mul(step.d)?.checked_add(up)?, step.d)
    }

    /// The product of two percents, in percent: 50 % · 50 % = 25 %.
    pub(in crate::signal) fn of_percents(self, other: Self) -> Option<Self> {
        let d = self.d.checked_mul(other.d)?.checked_mul(100)?;
        Self::reduce_narrow(self.n.checked_mul(other.n)?, d)
    }

    /// `centre` + `by` · `self`, reduced once; `None` where the way there does not fit.
    pub(in crate::signal) fn scaled(self, by: Self, centre: Self) -> Option<Self> {
        let (n, d) = (self.n.checked_mul(by.n)?, self.d.checked_mul(by.d)?.checked_mul(centre.d)?);
        let moved = n.checked_mul(centre.d)?;
        let still = centre.n.checked_mul(self.d)?.checked_mul(by.d)?;
        Self::reduce_narrow(moved.checked_add(still)?, d)
    }

    /// `self` as a stick in percent after `rate` and expo `k`, both in percent: rate · (k·x³ + (1−k)·x), DESIGN 4.2.
    /// `None` where the way there does not fit.
    pub(in crate::signal) fn shaped(self, rate: Self, k: Self) -> Option<Self> {
        let wide = |n: i64| i128::from(n);
        let (x, whole) = (wide(self.n), 100 * wide(self.d));
        let (square, of) = (x.checked_mul(x)?, whole.checked_mul(whole)?);
        let straight = (100 * wide(k.d) - wide(k.n)).checked_mul(of)?;
        let bent = wide(k.n).checked_mul(square)?.checked_add(straight)?;
        let n = bent.checked_mul(x.checked_mul(wide(rate.n))?)?;
        let d = of.checked_mul(whole)?.checked_mul(100 * wide(k.d))?.checked_mul(wide(rate.d))?;
        match (i64::try_from(n), i64::try_from(d)) {
            (Ok(n), Ok(d)) => Self::reduce_narrow(n, d),
            _ => Self::reduce(n, d),
        }
    }

    fn bounded(n: i64) -> Option<Self> {
        (n.unsigned_abs() <= LARGEST_PART.unsigned_abs()).then_some(Self { n, d: 1 })
    }

    fn reduce_narrow(n: i64, d: i64) -> Option<Self> {
        if d <= 0 {
            return None;
        }
        // Whole results are the most frequent.
        let rest = n % d;
        if rest == 0 {
            return Self::bounded(n / d);
        }
        // What divides both divides the rest too, which is the smaller number.
        let divisor = divisor(rest.unsigned_abs(), d.unsigned_abs());
        // At most the size of `d`, which is an `i64`.
        let (n, d) = (n / divisor as i64, d / divisor as i64);
        let fits = n.unsigned_abs() <= LARGEST_PART.unsigned_abs() && d <= LARGEST_PART;
        fits.then_some(Self { n, d })
    }

    fn reduce(n: i128, d: i128) -> Option<Self> {
        if d <= 0 {
            return None;
        }
        let divisor = i128::try_from(wide_divisor(n.unsigned_abs(), d.unsigned_abs())).ok()?;
        let (n, d) = (i64::try_from(n / divisor).ok()?, i64::try_from(d / divisor).ok()?);
        let fits = n.unsigned_abs() <= LARGEST_PART.unsigned_abs() && d <= LARGEST_PART;
        fits.then_some(Self { n, d })
    }
}

/// The greatest common divisor, by halving and subtracting (Stein's method); `b` is not 0.
const fn divisor(mut a: u64, mut b: u64) -> u64 {
    if a == 0 {
        return b;
    }
    let twos = (a | b).trailing_zeros();
    a >>= a.trailing_zeros();
    loop {
        b >>= b.trailing_zeros();
        if a > b {
            (a, b) = (b, a);
        }
        b -= a;
        if b == 0 {
            return a << twos;
        }
    }
}

/// The same for wide numbers, after Euclid.
const fn wide_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        if a >> 64 == 0 && b >> 64 == 0 {
            return divisor(a as u64, b as u64) as u128;
        }
        (a, b) = (b, a % b);
    }
    a
}

/// As [`Rational64::whole`].
pub const fn whole(value: i64) -> Rational64 {
    Rational64::whole(value)
}

impl fmt::Display for Rational64 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.d == 1 { write!(f, "{}", self.n) } else { write!(f, "{}/{}", self.n, self.d) }
    }
}

impl PartialOrd for Rational64 {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational64 {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.d == other.d {
            return self.n.cmp(&other.n);
        }
        (i128::from(self.n) * i128::from(other.d)).cmp(&(i128::from(other.n) * i128::from(self.d)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any() -> impl Strategy<Value = Rational64> {
        (-100_000_i64..100_000, 1_i64..1000).prop_map(|(n, d)| Rational64::new(n, d).unwrap())
    }

    proptest! {
        #[test]
        fn arithmetic_agrees_with_the_library(a in any(), b in any(), c in any()) {
            prop_assert_eq!(a.add(b).unwrap().big(), a.big() + b.big());
            prop_assert_eq!(a.sub(b).unwrap().big(), a.big() - b.big());
            prop_assert_eq!(a.mul(b).unwrap().big(), a.big() * b.big());
            if !b.is_zero() {
                prop_assert_eq!(a.div(b).unwrap().big(), a.big() / b.big());
            }
            prop_assert_eq!(a.cmp(&b), a.big().cmp(&b.big()));
            prop_assert_eq!(a.add(Rational64::ZERO), Some(a));
            prop_assert_eq!(a.of_percents(b).unwrap().big(), a.big() * b.big() / Rational64::HUNDRED.big());
            prop_assert_eq!(a.scaled(b, c).unwrap().big(), c.big() + b.big() * a.big());
            prop_assert!(crate::signal::number::big::from_f64(a.below()) <= a.big());
            prop_assert!(crate::signal::number::big::from_f64(a.above()) >= a.big());
        }
    }

    proptest! {
        /// Against the formula as it is written down, in numbers of any size.
        #[test]
        fn a_shaped_stick_is_the_formula_s(x in any(), rate in any(), k in any()) {
            let of = |n: i64| whole(n).big();
            let (part, share) = (x.big() / of(100), k.big() / of(100));
            let cube = &share * &part * &part * &part;
            let value = rate.big() * (cube + (of(1) - share) * part);
            prop_assert_eq!(x.shaped(rate, k).map(Rational64::big), Rational64::narrow(&value).map(|_| value));
        }

        /// Against all steps, looked at one by one.
        #[test]
        fn the_nearest_step_is_nearer_than_all_others(pulse in any(), low in -50_000_i64..50_000, step in any(), last in 1_i64..40) {
            let low = Rational64::whole(low);
            let step = if step.is_negative() { step.negate() } else { step };
            prop_assume!(!step.is_zero());
            let steps = (0..=last).map(|at| low.big() + step.big() * Rational64::whole(at).big());
            let far = |at: &Big| { let off = at - pulse.big(); if off < Rational64::ZERO.big() { -off } else { off } };
            let nearest = steps.min_by(|a, b| far(a).cmp(&far(b)).then(a.cmp(b)));
            prop_assert_eq!(pulse.nearest_step(low, step, last).map(Rational64::big), nearest);
        }

        /// A tie goes to the lower.
        #[test]
        fn half_a_step_is_the_step_below(low in -2000_i64..2000, step in 1_i64..500, at in 0_i64..30) {
            let pulse = Rational64::whole(2 * (low + step * at) + step).div(Rational64::whole(2)).unwrap();
            let found = pulse.nearest_step(Rational64::whole(low), Rational64::whole(step), 30);
            prop_assert_eq!(found, Some(Rational64::whole(low + step * at)));
        }
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let big = Rational64::whole(1 << 53);
        assert_eq!(big.add(Rational64::ONE), None);
        assert_eq!(big.mul(big), None);
        assert_eq!(Rational64::ONE.div(Rational64::ZERO), None);
        assert_eq!(Rational64::dyadic(0.5), Rational64::new(1, 2));
        assert_eq!(Rational64::dyadic(0.1), None);
        assert_eq!(Rational64::new(1, 0), None);
        assert_eq!(Rational64::new(i64::MIN, -1), None);
        assert_eq!(Rational64::new(LARGEST_PART, 1 + LARGEST_PART), None);
        assert_eq!(Rational64::whole(i64::MIN), Rational64::whole(-LARGEST_PART));
    }

    #[test]
    fn what_does_not_fit_is_rounded_where_that_is_asked_for() {
        let fine = Rational64::new(1, 100_000_000_000_000).unwrap().big();
        let of = |n: i64| Rational64::whole(n).big();
        assert_eq!(Rational64::rounded(&fine).big(), fine);
        assert_eq!(Rational64::rounded(&(of(3000) - &fine)), Rational64::whole(3000));
        assert_eq!(Rational64::rounded(&(of(LARGEST_PART) / of(2) + &fine)), Rational64::whole(LARGEST_PART / 2));
        assert_eq!(Rational64::rounded(&(of(LARGEST_PART) * of(-1000))), Rational64::whole(-LARGEST_PART));
    }

    #[test]
    fn decimals_are_exact() {
        assert_eq!(Rational64::decimal(-1250, 2), Rational64::new(-25, 2));
        assert_eq!(Rational64::decimal(1, 19), None);
        assert_eq!(Rational64::decimal(i64::MAX, 0), None);
        assert_eq!(Rational64::decimal(1, 1).unwrap().near(), 0.1);
    }
}
