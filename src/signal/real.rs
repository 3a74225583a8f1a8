//! Exact numbers of any size that stay small fractions as long as they fit: most of a signal path does.

use super::fix::Fix;
use super::interval::Interval;
use super::number::{Exact, Number, enclose};
use num_traits::Signed;
use std::cmp::Ordering;

/// An exact number. What fits a [`Fix`] may all the same be kept large, so that equality goes by value, not by form.
#[derive(Clone, Debug)]
pub(super) enum Real {
    /// Fits.
    Small(Fix),
    /// Did not fit when it was computed.
    Large(Box<Exact>),
}

impl Real {
    pub(super) const ZERO: Self = Self::Small(Fix::ZERO);
    pub(super) const ONE: Self = Self::Small(Fix::ONE);
    pub(super) const HUNDRED: Self = Self::Small(Fix::HUNDRED);

    /// A small whole number.
    pub(super) const fn whole(n: i64) -> Self {
        Self::Small(Fix::whole(n))
    }

    /// A checked number of a description.
    pub(super) fn of(number: Number) -> Self {
        Self::Small(Fix::of(number))
    }

    /// Any exact number; kept small where it fits.
    pub(super) fn from_exact(value: Exact) -> Self {
        Fix::narrow(&value).map_or_else(|| Self::Large(Box::new(value)), Self::Small)
    }

    /// As a number without a bound on its size.
    pub(super) fn exact(&self) -> Exact {
        match self {
            Self::Small(fix) => fix.exact(),
            Self::Large(exact) => (**exact).clone(),
        }
    }

    /// As a small fraction, where it fits.
    pub(super) fn small(&self) -> Option<Fix> {
        match self {
            Self::Small(fix) => Some(*fix),
            Self::Large(exact) => Fix::narrow(exact),
        }
    }

    /// The closest floating-point numbers around it.
    pub(super) fn near(&self) -> Interval {
        match self {
            Self::Small(fix) => Interval::of(*fix),
            Self::Large(exact) => {
                let (low, high) = enclose(exact);
                Interval { low, high }
            }
        }
    }

    fn with(&self, other: &Self, small: fn(Fix, Fix) -> Option<Fix>, large: fn(Exact, Exact) -> Exact) -> Self {
        if let (Self::Small(a), Self::Small(b)) = (self, other)
            && let Some(result) = small(*a, *b)
        {
            return Self::Small(result);
        }
        Self::from_exact(large(self.exact(), other.exact()))
    }

    pub(super) fn add(&self, other: &Self) -> Self {
        self.with(other, Fix::add, |a, b| a + b)
    }

    pub(super) fn sub(&self, other: &Self) -> Self {
        self.with(other, Fix::sub, |a, b| a - b)
    }

    pub(super) fn mul(&self, other: &Self) -> Self {
        self.with(other, Fix::mul, |a, b| a * b)
    }

    /// `self / other`; `other` is not 0.
    pub(super) fn div(&self, other: &Self) -> Self {
        self.with(other, Fix::div, |a, b| a / b)
    }

    pub(super) fn negate(&self) -> Self {
        match self {
            Self::Small(fix) => Self::Small(fix.negate()),
            Self::Large(exact) => Self::Large(Box::new(-(**exact).clone())),
        }
    }

    /// The least whole number that is not below it.
    pub(super) fn ceil(&self) -> Self {
        match self {
            Self::Small(fix) => Self::Small(fix.ceil()),
            Self::Large(exact) => Self::from_exact(exact.ceil()),
        }
    }

    /// The sign, as the order relative to 0.
    pub(super) fn sign(&self) -> Ordering {
        self.cmp(&Self::ZERO)
    }

    pub(super) fn abs(&self) -> Self {
        match self {
            Self::Small(fix) if fix.is_negative() => Self::Small(fix.negate()),
            Self::Small(fix) => Self::Small(*fix),
            Self::Large(exact) => Self::Large(Box::new(exact.abs())),
        }
    }
}

impl PartialEq for Real {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Real {}

impl PartialOrd for Real {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Real {
    fn cmp(&self, other: &Self) -> Ordering {
        match (self, other) {
            (Self::Small(a), Self::Small(b)) => a.cmp(b),
            _ => self.exact().cmp(&other.exact()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Fractions of which some products fit and some do not.
    fn any() -> impl Strategy<Value = Real> {
        prop_oneof![
            (-1000_i64..1000, 1_i64..100).prop_map(|(n, d)| Real::of(Number::new(n, d))),
            (-(1_i64 << 53)..1 << 53, (1_i64 << 50)..1 << 53).prop_map(|(n, d)| Real::of(Number::new(n, d))),
        ]
    }

    proptest! {
        #[test]
        fn arithmetic_is_exact_whatever_the_size(a in any(), b in any()) {
            let (x, y) = (a.exact(), b.exact());
            let product = a.mul(&b);
            prop_assert_eq!(a.add(&b).exact(), &x + &y);
            prop_assert_eq!(a.sub(&b).exact(), &x - &y);
            prop_assert_eq!(product.exact(), &x * &y);
            prop_assert_eq!(a.cmp(&b), x.cmp(&y));
            prop_assert_eq!(product.cmp(&a), (&x * &y).cmp(&x));
            prop_assert_eq!(product.negate().abs(), product.abs());
            prop_assert_eq!(product.ceil().exact(), product.exact().ceil());
            if b.sign() != Ordering::Equal {
                prop_assert_eq!(a.div(&b).exact(), &x / &y);
            }
            let near = product.near();
            let low = crate::signal::number::from_f64(near.low);
            prop_assert!(low <= product.exact() && product.exact() <= crate::signal::number::from_f64(near.high));
        }
    }
}
