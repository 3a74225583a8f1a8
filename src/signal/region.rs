//! What a box is: what every variable may still be, in every moment of a question, and what would help to know more.

use super::fix::Fix;
use super::memory::Pasts;
use super::net::{Kind, VarId};

/// What a variable may still be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Cell {
    /// Positions of a switch.
    Mask(u64),
    /// A stretch of an axis; an open end is left out.
    Range { low: Fix, high: Fix, low_open: bool, high_open: bool },
}

impl Cell {
    pub(super) fn whole(kind: Kind) -> Self {
        match kind {
            Kind::Switch(n) => Self::Mask(u64::MAX >> (64 - u32::from(n.max(1)))),
            Kind::Axis(reach) => Self::range(reach.negate(), reach),
        }
    }

    pub(super) const fn range(low: Fix, high: Fix) -> Self {
        Self::Range { low, high, low_open: false, high_open: false }
    }
}

/// What would help to decide something that is not decided yet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Hint {
    /// Whether a switch stands in one of these positions.
    Positions(u8, VarId, u64),
    /// Which position a switch stands in.
    Switch(u8, VarId),
    /// On which side of a value an axis stands, or exactly there.
    Axis(u8, VarId, Fix),
    /// In which half of its stretch an axis stands.
    Halve(u8, VarId),
    /// What a group of latches and tests remembers.
    Past(u8),
    /// Whether a condition counts as held.
    Held(u8, u8),
    /// Nothing: a curved value comes too close to a limit.
    Close,
    /// Nothing: the pulse of this channel is not known.
    NotKnown(u16),
}

/// Whether something holds all over the box.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Tri {
    True,
    False,
    Maybe(Hint),
}

/// One moment: the state that is asked for, or the one after a step out of it.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    /// For a step: the variable that moves, and where to.
    pub(super) moved: Option<(VarId, Cell)>,
    /// A step that moves nothing that matters.
    pub(super) same_held: bool,
    /// Which `held` conditions are settled, and how.
    pub(super) held_known: u64,
    pub(super) held: u64,
}

impl Scene {
    pub(super) fn first() -> Self {
        Self { moved: None, same_held: false, held_known: 0, held: 0 }
    }
}

/// A group of latches and tests whose past hangs together.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) latches: u64,
    pub(super) tests: u64,
    /// What it can remember: latches that were on, tests that held. The first is the start.
    pub(super) pasts: Vec<(u64, u64)>,
    /// The one chosen.
    pub(super) chosen: Option<u16>,
}

impl Group {
    pub(super) fn of(pasts: &Pasts) -> Self {
        Self {
            latches: pasts.latches,
            tests: pasts.tests,
            pasts: pasts.list.iter().map(|past| (past.latches, past.tests)).collect(),
            chosen: (pasts.list.len() == 1).then_some(0),
        }
    }
}

pub(super) const fn tri(value: bool) -> Tri {
    if value { Tri::True } else { Tri::False }
}
