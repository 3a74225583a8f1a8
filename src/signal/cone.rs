//! What a condition or value hangs on: the cone of influence.

use super::net::VarId;

/// A set of variables. The last bit stands for all variables that have none of their own: a set with it may hold more than
/// it should, never less.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub(super) struct VarSet(u64);

const LAST: u32 = 63;

impl VarSet {
    pub(super) fn one(var: VarId) -> Self {
        Self(1 << u32::from(var).min(LAST))
    }

    pub(super) fn has(self, var: VarId) -> bool {
        self.meets(Self::one(var))
    }

    pub(super) const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    pub(super) const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Without those of `other` that have a bit of their own.
    pub(super) const fn without(self, other: Self) -> Self {
        Self(self.0 & !(other.0 & !(1 << LAST)))
    }

    /// The variables among the first `count` that are in it, in order.
    pub(super) fn each(self, count: usize) -> impl Iterator<Item = VarId> {
        let (mut left, mut beyond) = (self.0 & !(1 << LAST), LAST as VarId);
        let end = if self.0 >> LAST == 1 { count as VarId } else { beyond };
        std::iter::from_fn(move || {
            if left != 0 {
                let at = left.trailing_zeros();
                left &= left - 1;
                return Some(at as VarId);
            }
            (beyond < end).then(|| {
                beyond += 1;
                beyond - 1
            })
        })
    }
}

/// The variables, latches and tests that something hangs on, also through latches.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) struct Cone {
    pub(super) vars: VarSet,
    pub(super) latches: u64,
    pub(super) tests: u64,
    /// A `held` condition is among it.
    pub(super) held: bool,
    /// A pulse that is not known is among it.
    pub(super) unknown: bool,
}

impl Cone {
    pub(super) const fn union(&self, other: &Self) -> Self {
        Self {
            vars: self.vars.union(other.vars),
            latches: self.latches | other.latches,
            tests: self.tests | other.tests,
            held: self.held || other.held,
            unknown: self.unknown || other.unknown,
        }
    }

    /// Whether it hangs on nothing but where the controls stand now.
    pub(super) const fn is_of_now(&self) -> bool {
        self.latches | self.tests == 0 && !self.held
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sets_beyond_the_last_bit_hold_all_that_could_be_meant() {
        let set = VarSet::one(3).union(VarSet::one(70));
        assert!(set.has(3) && set.has(70) && set.has(64) && !set.has(4));
        assert_eq!(set.each(66).collect::<Vec<_>>(), [3, 63, 64, 65]);
        assert_eq!(VarSet::one(62).each(63).collect::<Vec<_>>(), [62]);
    }
}
