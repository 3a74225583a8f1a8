//! The domain of one variable.

use crate::signal::number::rational64::Rational64;
use crate::signal::solve::dag::Kind;

/// What a variable may still be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) enum Cell {
    /// Positions of a switch.
    Mask(u64),
    /// A stretch of an axis; an open end is left out.
    Range { low: Rational64, high: Rational64, low_open: bool, high_open: bool },
}

impl Cell {
    pub(in crate::signal) fn whole(kind: Kind) -> Self {
        match kind {
            Kind::Switch(n) => Self::Mask(u64::MAX >> (64 - u32::from(n.max(1)))),
            Kind::Axis(reach) => Self::range(reach.negate(), reach),
        }
    }

    pub(in crate::signal) const fn range(low: Rational64, high: Rational64) -> Self {
        Self::Range { low, high, low_open: false, high_open: false }
    }

    /// Its least and its greatest place, where they are not left out.
    pub(in crate::signal) fn ends(self) -> [Option<Self>; 2] {
        match self {
            Self::Mask(0) => [None, None],
            Self::Mask(mask) => [mask.trailing_zeros(), 63 - mask.leading_zeros()].map(|at| Some(Self::Mask(1 << at))),
            Self::Range { low, high, low_open, high_open } => {
                [(low, low_open), (high, high_open)].map(|(end, open)| (!open).then(|| Self::range(end, end)))
            }
        }
    }
}
