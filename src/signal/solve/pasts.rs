//! Pasts: which latches were on and which tests of `becomes` held, and what of them is settled in a region.

use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::VarSet;
use crate::signal::solve::dag::VarId;
use rustc_hash::FxHashMap;
use std::ops::Range;
use std::rc::Rc;

/// Latches that were on and tests that held.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub(in crate::signal) struct Remembered {
    pub(in crate::signal) latches: u64,
    pub(in crate::signal) tests: u64,
}

impl Remembered {
    pub(in crate::signal) const fn has(self, number: u8, test: bool) -> bool {
        (if test { self.tests } else { self.latches }) >> number & 1 == 1
    }

    pub(in crate::signal) fn set(&mut self, number: u8, test: bool, on: bool) {
        let place = if test { &mut self.tests } else { &mut self.latches };
        *place = *place & !(1 << number) | u64::from(on) << number;
    }
}

/// A group of latches and tests whose past hangs together.
#[derive(Clone, Debug)]
pub(in crate::signal) struct Group {
    /// Those of the group.
    pub(in crate::signal) all: Remembered,
    /// What it can remember.
    pasts: Rc<Pasts>,
    /// Those that are settled, and how.
    pub(in crate::signal) settled: Remembered,
    pub(in crate::signal) on: Remembered,
    /// What is remembered in all and in any of the pasts that are left.
    always: Remembered,
    ever: Remembered,
}

impl Group {
    pub(in crate::signal) fn of(pasts: &Rc<Pasts>) -> Self {
        let none = Remembered::default();
        let (all, pasts) = (pasts.all, Rc::clone(pasts));
        let mut group = Self { all, pasts, settled: none, on: none, always: none, ever: none };
        group.narrow();
        group
    }

    /// Whether a latch was on, or a test held, where that is the same in all pasts that are left.
    pub(in crate::signal) const fn was(&self, number: u8, test: bool) -> Option<bool> {
        match (self.always.has(number, test), self.ever.has(number, test)) {
            (true, _) => Some(true),
            (_, false) => Some(false),
            _ => None,
        }
    }

    /// The pasts that are left.
    pub(in crate::signal) fn left(&self) -> impl Iterator<Item = usize> {
        let pasts = self.pasts.list.iter().enumerate();
        pasts.filter(|(_, past)| self.fits(past.what)).map(|(at, _)| at)
    }

    /// The first past that is left.
    pub(in crate::signal) fn first(&self) -> usize {
        self.left().next().unwrap_or(0)
    }

    /// Whether a past is as settled.
    const fn fits(&self, past: Remembered) -> bool {
        past.latches & self.settled.latches == self.on.latches && past.tests & self.settled.tests == self.on.tests
    }

    /// Whether a latch was on, or a test held, in the first past that is left.
    pub(in crate::signal) fn first_was(&self, number: u8, test: bool) -> bool {
        let first = self.first();
        self.pasts.list.get(first).is_some_and(|past| past.what.has(number, test))
    }

    /// Settles whether a latch was on or a test held; nothing settles it no more.
    pub(in crate::signal) fn settle(&mut self, number: u8, test: bool, on: Option<bool>) {
        self.settled.set(number, test, on.is_some());
        self.on.set(number, test, on == Some(true));
        self.narrow();
    }

    fn narrow(&mut self) {
        let (mut always, mut ever) = (Remembered { latches: u64::MAX, tests: u64::MAX }, Remembered::default());
        for past in &self.pasts.list {
            let what = past.what;
            if self.fits(what) {
                always = Remembered { latches: always.latches & what.latches, tests: always.tests & what.tests };
                ever = Remembered { latches: ever.latches | what.latches, tests: ever.tests | what.tests };
            }
        }
        (self.always, self.ever) = (always, ever);
    }
}

/// Where the variables of a group stood in one moment, and which `held` conditions counted as held.
pub(in crate::signal) type Moment = (Vec<(VarId, Cell)>, u64);

/// One reachable past, and how it comes about.
#[derive(Clone, Debug)]
pub(in crate::signal) struct Past {
    /// Latches that are on, and tests that hold. For the start all tests count as holding, so that nothing becomes anything.
    pub(in crate::signal) what: Remembered,
    /// The past before, and where everything stood in the moment that led here; `None` for the start.
    pub(in crate::signal) from: Option<(u16, Moment)>,
}

/// The pasts of a group of latches and tests that hang on common controls.
#[derive(Clone, Debug)]
pub(in crate::signal) struct Pasts {
    pub(in crate::signal) all: Remembered,
    pub(in crate::signal) vars: VarSet,
    /// The start is the first.
    pub(in crate::signal) list: Vec<Past>,
    /// Some could not be told, and stand for all that they may be: more is listed than can be come to.
    pub(in crate::signal) rough: bool,
    /// All but the start, by what they are.
    pub(in crate::signal) places: FxHashMap<Remembered, u16>,
}

impl Pasts {
    pub(in crate::signal) fn starting(all: Remembered, vars: VarSet, what: Remembered) -> Self {
        Self { all, vars, list: vec![Past { what, from: None }], rough: false, places: FxHashMap::default() }
    }

    /// Some of them, without how they come about.
    pub(in crate::signal) fn part(&self, which: Range<usize>) -> Self {
        let list = self.list[which].iter().map(|past| Past { what: past.what, from: None }).collect();
        Self { all: self.all, vars: self.vars, list, rough: false, places: FxHashMap::default() }
    }
}
