//! What a condition or value hangs on: the cone of influence.

use crate::signal::solve::dag::{Bit, BitId, Dag, Memory, Num, VarId};

/// A set of variables. The last bit stands for all variables that have none of their own: a set with it may hold more than
/// it should, never less.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub(in crate::signal) struct VarSet(u64);

const LAST: u32 = 63;

impl VarSet {
    pub(in crate::signal) fn one(var: VarId) -> Self {
        Self(1 << u32::from(var).min(LAST))
    }

    pub(in crate::signal) fn has(self, var: VarId) -> bool {
        self.meets(Self::one(var))
    }

    pub(in crate::signal) const fn meets(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    pub(in crate::signal) const fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Without those of `other` that have a bit of their own.
    pub(in crate::signal) const fn without(self, other: Self) -> Self {
        Self(self.0 & !(other.0 & !(1 << LAST)))
    }

    /// The places of its bits, in order.
    pub(in crate::signal) fn places(self) -> impl Iterator<Item = usize> {
        places(self.0)
    }

    /// The variables among the first `count` that are in it, in order.
    pub(in crate::signal) fn each(self, count: usize) -> impl Iterator<Item = VarId> {
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

/// The places of the bits that are set, in order.
pub(in crate::signal) fn places(mut bits: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let at = bits.trailing_zeros();
        bits &= bits.checked_sub(1)?;
        Some(at as usize)
    })
}

/// The variables, latches and tests that something hangs on, also through latches.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(in crate::signal) struct Cone {
    pub(in crate::signal) vars: VarSet,
    pub(in crate::signal) latches: u64,
    pub(in crate::signal) tests: u64,
    /// A `held` condition is among it.
    pub(in crate::signal) held: bool,
    /// Something that is not known is among it.
    pub(in crate::signal) unknown: bool,
}

impl Cone {
    pub(in crate::signal) const fn union(&self, other: &Self) -> Self {
        Self {
            vars: self.vars.union(other.vars),
            latches: self.latches | other.latches,
            tests: self.tests | other.tests,
            held: self.held || other.held,
            unknown: self.unknown || other.unknown,
        }
    }

    /// Whether it hangs on nothing but where the controls stand now.
    pub(in crate::signal) const fn is_of_now(&self) -> bool {
        self.latches | self.tests == 0 && !self.held
    }
}

/// What is known of a value beside its node.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) struct Sort {
    pub(in crate::signal) cone: Cone,
    /// The variables of the value itself, without those of conditions that choose between lines.
    pub(in crate::signal) own: VarSet,
    /// No variable stands in it more than once, so that its parts are independent. Each line of a choice is looked at
    /// alone: which one is in force was settled before.
    pub(in crate::signal) tree: bool,
}

impl Dag {
    pub(in crate::signal) fn sort_of(&self, num: Num) -> Sort {
        let mut sort = Sort { cone: Cone::default(), own: VarSet::default(), tree: true };
        let mut with = |other: &Sort| {
            sort.tree &= other.tree && !sort.own.meets(other.own);
            sort.own = sort.own.union(other.own);
            sort.cone = sort.cone.union(&other.cone);
        };
        match num {
            Num::Const(_) => {}
            Num::Unknown(_) => sort.cone.unknown = true,
            Num::Var(var) => {
                sort.own = VarSet::one(var);
                sort.cone.vars = sort.own;
            }
            Num::Lin { terms, .. } => self.terms(terms).iter().for_each(|&(_, term)| with(self.sort(term))),
            Num::Mul(a, b) | Num::Min(a, b) | Num::Max(a, b) => {
                with(self.sort(a));
                with(self.sort(b));
            }
            Num::Square(of) | Num::Curve { of, .. } | Num::Expo { of, .. } => sort = *self.sort(of),
            Num::Choose { lines, otherwise } => {
                sort = *self.sort(otherwise);
                for &(when, value) in self.lines(lines) {
                    let value = self.sort(value);
                    sort.tree &= value.tree;
                    sort.own = sort.own.union(value.own);
                    sort.cone = sort.cone.union(&value.cone).union(self.cone(when));
                }
            }
        }
        sort
    }

    pub(in crate::signal) fn cone_of(&self, bit: Bit) -> Cone {
        let of = |ids: &[BitId]| ids.iter().fold(Cone::default(), |cone, &id| cone.union(self.cone(id)));
        match bit {
            Bit::Const(_) => Cone::default(),
            Bit::NotKnown(_) | Bit::Unknown(_) => Cone { unknown: true, ..Cone::default() },
            Bit::In(var, _) | Bit::Above { var, .. } => Cone { vars: VarSet::one(var), ..Cone::default() },
            Bit::Over { num, .. } | Bit::Close { num, .. } => self.sort(num).cone,
            Bit::Not(of) => *self.cone(of),
            Bit::All(run) | Bit::Any(run) => of(self.members(run)),
            Bit::If(when, a, b) => of(&[when, a, b]),
            Bit::Became(test) => {
                let cone = self.cone(self.tests[usize::from(test)]);
                Cone { tests: cone.tests | 1 << test, ..*cone }
            }
            Bit::Held { of, .. } => Cone { held: true, ..*self.cone(of) },
            Bit::Latch(latch) => {
                let cone = match self.latches[usize::from(latch)] {
                    Memory::Latch { set, reset } => of(&[set, reset]),
                    Memory::Toggle(on) => *self.cone(on),
                };
                Cone { latches: cone.latches | 1 << latch, ..cone }
            }
        }
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
