//! Exact numbers of any size that stay small fractions as long as they fit: most of a signal path does.

use crate::signal::number::big::{Big, enclose, roughly};
use crate::signal::number::interval::Interval;
use crate::signal::number::rational64::Rational64;
use num_traits::{Signed, ToPrimitive};
use std::cmp::Ordering;

/// An exact number of any size, for results and for limits made of stated numbers. It can be compared, computed with and turned
/// into an `f64`.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Exact(pub(in crate::signal) Rational);

/// `number` without a bound on its size.
pub fn exact(number: Rational64) -> Exact {
    Exact(Rational::of(number))
}

impl Exact {
    /// The sum.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        Self(self.0.add(&other.0))
    }

    /// The difference.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        Self(self.0.sub(&other.0))
    }

    /// The product.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        Self(self.0.mul(&other.0))
    }

    /// `self / other`; `other` is not 0.
    #[must_use]
    pub fn over(&self, other: &Self) -> Self {
        Self(self.0.div(&other.0))
    }

    /// The number of the other sign.
    #[must_use]
    pub fn negate(&self) -> Self {
        Self(self.0.negate())
    }

    /// The number itself where it fits, else the nearest that does, as [`Rational64::rounded`] has it.
    pub fn rounded(&self) -> Rational64 {
        self.0.small().unwrap_or_else(|| Rational64::rounded(&self.0.big()))
    }
}

impl From<Big> for Exact {
    fn from(value: Big) -> Self {
        Self(Rational::from_big(value))
    }
}

/// An `f64` within a few units in the last place of `value`.
pub fn approximate(value: &Exact) -> f64 {
    value.0.roughly()
}

impl ToPrimitive for Exact {
    fn to_i64(&self) -> Option<i64> {
        self.0.big().to_i64()
    }

    fn to_u64(&self) -> Option<u64> {
        self.0.big().to_u64()
    }

    fn to_f64(&self) -> Option<f64> {
        Some(self.0.roughly())
    }
}

/// An exact number. What fits a [`Rational64`] may all the same be kept large, so that equality goes by value, not by form.
#[derive(Clone, Debug)]
pub(in crate::signal) enum Rational {
    /// Fits.
    Small(Rational64),
    /// Did not fit when it was computed.
    Large(Box<Big>),
}

impl Rational {
    pub(in crate::signal) const ZERO: Self = Self::Small(Rational64::ZERO);
    pub(in crate::signal) const ONE: Self = Self::Small(Rational64::ONE);
    pub(in crate::signal) const HALF: Self = Self::Small(Rational64::HALF);
    pub(in crate::signal) const HUNDRED: Self = Self::Small(Rational64::HUNDRED);

    /// A small whole number.
    pub(in crate::signal) const fn whole(n: i64) -> Self {
        Self::Small(Rational64::whole(n))
    }

    /// A checked number of a description.
    pub(in crate::signal) fn of(number: Rational64) -> Self {
        Self::Small(number)
    }

    /// Any exact number; kept small where it fits.
    pub(in crate::signal) fn from_big(value: Big) -> Self {
        Rational64::narrow(&value).map_or_else(|| Self::Large(Box::new(value)), Self::Small)
    }

    /// As a number without a bound on its size.
    pub(in crate::signal) fn big(&self) -> Big {
        match self {
            Self::Small(fix) => fix.big(),
            Self::Large(exact) => (**exact).clone(),
        }
    }

    /// As a small fraction, where it fits.
    pub(in crate::signal) fn small(&self) -> Option<Rational64> {
        match self {
            Self::Small(fix) => Some(*fix),
            Self::Large(exact) => Rational64::narrow(exact),
        }
    }

    /// An `f64` within a few units in the last place.
    pub(in crate::signal) fn roughly(&self) -> f64 {
        match self {
            Self::Small(fix) => fix.near(),
            Self::Large(exact) => roughly(exact),
        }
    }

    /// The closest floating-point numbers around it.
    pub(in crate::signal) fn near(&self) -> Interval {
        match self {
            Self::Small(fix) => Interval::of(*fix),
            Self::Large(exact) => {
                let (low, high) = enclose(exact);
                Interval { low, high }
            }
        }
    }

    #[inline]
    fn with(
        &self,
        other: &Self,
        small: impl Fn(Rational64, Rational64) -> Option<Rational64>,
        large: impl Fn(Big, Big) -> Big,
    ) -> Self {
        if let (Self::Small(a), Self::Small(b)) = (self, other)
            && let Some(result) = small(*a, *b)
        {
            return Self::Small(result);
        }
        Self::from_big(large(self.big(), other.big()))
    }

    pub(in crate::signal) fn add(&self, other: &Self) -> Self {
        self.with(other, Rational64::add, |a, b| a + b)
    }

    pub(in crate::signal) fn sub(&self, other: &Self) -> Self {
        self.with(other, Rational64::sub, |a, b| a - b)
    }

    pub(in crate::signal) fn mul(&self, other: &Self) -> Self {
        self.with(other, Rational64::mul, |a, b| a * b)
    }

    /// `self / other`; `other` is not 0.
    pub(in crate::signal) fn div(&self, other: &Self) -> Self {
        self.with(other, Rational64::div, |a, b| a / b)
    }

    /// The product of two percents, in percent.
    pub(in crate::signal) fn of_percents(&self, other: &Self) -> Self {
        self.with(other, Rational64::of_percents, |a, b| a * b / Self::HUNDRED.big())
    }

    pub(in crate::signal) fn negate(&self) -> Self {
        match self {
            Self::Small(fix) => Self::Small(fix.negate()),
            Self::Large(exact) => Self::Large(Box::new(-(**exact).clone())),
        }
    }

    /// The least whole number that is not below it.
    pub(in crate::signal) fn ceil(&self) -> Self {
        match self {
            Self::Small(fix) => Self::Small(fix.ceil()),
            Self::Large(exact) => Self::from_big(exact.ceil()),
        }
    }

    /// The sign, as the order relative to 0.
    pub(in crate::signal) fn sign(&self) -> Ordering {
        self.cmp(&Self::ZERO)
    }

    pub(in crate::signal) fn abs(&self) -> Self {
        match self {
            Self::Small(fix) if fix.is_negative() => Self::Small(fix.negate()),
            Self::Small(fix) => Self::Small(*fix),
            Self::Large(exact) => Self::Large(Box::new(exact.abs())),
        }
    }
}

impl PartialEq for Rational {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Rational {}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self, other) {
            (Self::Small(a), Self::Small(b)) => a.cmp(b),
            _ => self.big().cmp(&other.big()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Fractions of which some products fit and some do not.
    fn any() -> impl Strategy<Value = Rational> {
        prop_oneof![
            (-1000_i64..1000, 1_i64..100).prop_map(|(n, d)| Rational::of(Rational64::new(n, d).unwrap())),
            (-(1_i64 << 53)..1 << 53, (1_i64 << 50)..1 << 53)
                .prop_map(|(n, d)| Rational::of(Rational64::new(n, d).unwrap())),
        ]
    }

    proptest! {
        #[test]
        fn arithmetic_is_exact_whatever_the_size(a in any(), b in any()) {
            let (x, y) = (a.big(), b.big());
            let product = a.mul(&b);
            prop_assert_eq!(a.add(&b).big(), &x + &y);
            prop_assert_eq!(a.sub(&b).big(), &x - &y);
            prop_assert_eq!(product.big(), &x * &y);
            prop_assert_eq!(a.of_percents(&b).big(), &x * &y / Rational::HUNDRED.big());
            prop_assert_eq!(a.cmp(&b), x.cmp(&y));
            prop_assert_eq!(product.cmp(&a), (&x * &y).cmp(&x));
            prop_assert_eq!(product.negate().abs(), product.abs());
            prop_assert_eq!(product.ceil().big(), product.big().ceil());
            if b.sign() != Ordering::Equal {
                prop_assert_eq!(a.div(&b).big(), &x / &y);
            }
            let near = product.near();
            let low = crate::signal::number::big::from_f64(near.low);
            prop_assert!(low <= product.big() && product.big() <= crate::signal::number::big::from_f64(near.high));
        }
    }
}
