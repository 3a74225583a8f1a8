//! What a region is: what every variable may still be in every moment of a question, what is settled of the past, and what
//! would help to know more. One region is kept by the program and used again for every question.

use super::cone::{Cone, VarSet};
use super::fix::Fix;
use super::memory::Pasts;
use super::net::{BitId, Kind, Net, VarId};
use super::span::Span;
use std::rc::Rc;

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
    /// Whether this condition on variables holds in this moment.
    Atom(u8, BitId),
    /// Whether a latch was on, or a test held, before.
    Past { group: u8, number: u8, test: bool },
    /// Whether a condition counts as held.
    Held(u8, u8),
    /// Where the switch that moves stood, and where it goes: not to where it was.
    Apart(u8),
    /// Nothing: a curved value comes too close to a limit.
    Close,
    /// Nothing: the pulse of this channel is not known.
    NotKnown(u16),
}

impl Hint {
    /// Whether anything can be done about it.
    pub(super) const fn leads_on(self) -> bool {
        !matches!(self, Self::Close | Self::NotKnown(_))
    }
}

/// Whether something holds all over the region.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Tri {
    True,
    False,
    Maybe(Hint),
}

pub(super) const fn tri(value: bool) -> Tri {
    if value { Tri::True } else { Tri::False }
}

/// One moment: the state that is asked for, or the one after a step out of it.
#[derive(Clone, Copy, Debug)]
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
    pub(super) const fn first() -> Self {
        Self { moved: None, same_held: false, held_known: 0, held: 0 }
    }
}

/// Latches that were on and tests that held.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub(super) struct Remembered {
    pub(super) latches: u64,
    pub(super) tests: u64,
}

impl Remembered {
    pub(super) const fn has(self, number: u8, test: bool) -> bool {
        (if test { self.tests } else { self.latches }) >> number & 1 == 1
    }

    pub(super) fn set(&mut self, number: u8, test: bool, on: bool) {
        let place = if test { &mut self.tests } else { &mut self.latches };
        *place = *place & !(1 << number) | u64::from(on) << number;
    }
}

/// A group of latches and tests whose past hangs together.
#[derive(Clone, Debug)]
pub(super) struct Group {
    /// Those of the group.
    pub(super) all: Remembered,
    /// What it can remember; none where there is one past alone.
    pasts: Option<Rc<Pasts>>,
    /// Those that are settled, and how.
    pub(super) settled: Remembered,
    pub(super) on: Remembered,
    /// What is remembered in all and in any of the pasts that are left.
    always: Remembered,
    ever: Remembered,
}

impl Group {
    pub(super) fn of(pasts: &Rc<Pasts>) -> Self {
        let none = Remembered::default();
        let pasts = Some(Rc::clone(pasts));
        let all = pasts.as_ref().map_or(none, |pasts| pasts.all);
        let mut group = Self { all, pasts, settled: none, on: none, always: none, ever: none };
        group.narrow();
        group
    }

    /// A group with one past.
    pub(super) fn with(all: Remembered, past: Remembered) -> Self {
        let none = Remembered::default();
        Self { all, pasts: None, settled: none, on: none, always: past, ever: past }
    }

    /// Whether a latch was on, or a test held, where that is the same in all pasts that are left.
    pub(super) const fn was(&self, number: u8, test: bool) -> Option<bool> {
        match (self.always.has(number, test), self.ever.has(number, test)) {
            (true, _) => Some(true),
            (_, false) => Some(false),
            _ => None,
        }
    }

    /// The first past that is left.
    pub(super) fn first(&self) -> usize {
        let fits = |past: &Remembered| {
            past.latches & self.settled.latches == self.on.latches && past.tests & self.settled.tests == self.on.tests
        };
        self.pasts.as_ref().and_then(|pasts| pasts.list.iter().position(|past| fits(&past.what))).unwrap_or(0)
    }

    /// Whether a latch was on, or a test held, in the first past that is left.
    pub(super) fn first_was(&self, number: u8, test: bool) -> bool {
        let first = self.first();
        self.pasts.as_ref().and_then(|pasts| pasts.list.get(first)).is_some_and(|past| past.what.has(number, test))
    }

    /// Settles whether a latch was on or a test held; nothing settles it no more.
    fn settle(&mut self, number: u8, test: bool, on: Option<bool>) {
        self.settled.set(number, test, on.is_some());
        self.on.set(number, test, on == Some(true));
        self.narrow();
    }

    fn narrow(&mut self) {
        let Some(pasts) = &self.pasts else { return };
        let (mut always, mut ever) = (Remembered { latches: u64::MAX, tests: u64::MAX }, Remembered::default());
        for past in &pasts.list {
            let what = past.what;
            if what.latches & self.settled.latches == self.on.latches
                && what.tests & self.settled.tests == self.on.tests
            {
                always = Remembered { latches: always.latches & what.latches, tests: always.tests & what.tests };
                ever = Remembered { latches: ever.latches | what.latches, tests: ever.tests | what.tests };
            }
        }
        (self.always, self.ever) = (always, ever);
    }
}

/// Something of the region that was changed, by what hangs on it.
#[derive(Clone, Copy, Debug, Default)]
struct Change {
    vars: VarSet,
    past: Remembered,
    held: bool,
}

/// What was found of a node, and after how many changes.
#[derive(Clone, Copy, Debug)]
struct Memo<T> {
    at: u32,
    value: T,
}

/// The region, and what was found in it so far.
#[derive(Clone, Debug, Default)]
pub(super) struct Region {
    pub(super) cells: Vec<Cell>,
    pub(super) scenes: Vec<Scene>,
    pub(super) groups: Vec<Group>,
    /// What was left out, in order: the moment, the variable, and what it was before.
    pub(super) trail: Vec<(u8, VarId, Cell)>,
    /// Comparisons of values of several variables that have to come out so.
    pub(super) demands: Vec<(u8, BitId, bool)>,
    /// Comparisons of curved values that nothing can decide here.
    pub(super) stuck: Vec<(u8, BitId)>,
    bits: Vec<Memo<Tri>>,
    nums: Vec<Memo<Span>>,
    changes: Vec<Change>,
    /// The number of changes before this question.
    base: u32,
    /// How often a node was looked at since that was last reckoned.
    effort: u64,
}

/// How often nodes may be looked at in one region before it counts for another.
const EFFORT: u64 = 256;

impl Region {
    /// Everything whole again, in the first moment alone, without groups.
    pub(super) fn clear(&mut self, net: &Net) {
        self.cells.clear();
        self.cells.extend(net.vars.iter().map(|&(_, kind)| Cell::whole(kind)));
        self.scenes.clear();
        self.scenes.push(Scene::first());
        self.groups.clear();
        self.stuck.clear();
        self.trail.clear();
        self.effort = 0;
        self.forget();
    }

    /// Forgets what was found.
    pub(super) fn forget(&mut self) {
        self.base = match self.base.checked_add(self.changes.len() as u32 + 1) {
            Some(base) if base < u32::MAX / 2 => base,
            _ => {
                self.bits.clear();
                self.nums.clear();
                1
            }
        };
        self.changes.clear();
    }

    /// Takes this region off a budget, and what was worked out so far; false where that is more than is left.
    pub(super) fn spend(&mut self, budget: &mut u64) -> bool {
        let cost = 1 + self.effort / EFFORT;
        self.effort %= EFFORT;
        let left = budget.checked_sub(cost);
        *budget = left.unwrap_or(0);
        left.is_some()
    }

    /// Makes room for what will be found.
    pub(super) fn make_room(&mut self, (bits, nums): (usize, usize)) {
        let scenes = self.scenes.len();
        if self.bits.len() < bits * scenes {
            self.bits.resize(bits * scenes, Memo { at: 0, value: Tri::False });
        }
        if self.nums.len() < nums * scenes {
            self.nums.resize(nums * scenes, Memo { at: 0, value: Span::ALL });
        }
    }

    pub(super) fn cell(&self, scene: u8, var: VarId) -> Cell {
        match self.scenes[usize::from(scene)].moved {
            Some((moved, cell)) if moved == var => cell,
            _ => self.cells[usize::from(var)],
        }
    }

    /// Whether the cell of a variable in a moment is that moment's own, not the first one's.
    pub(super) fn is_own(&self, scene: u8, var: VarId) -> bool {
        matches!(self.scenes[usize::from(scene)].moved, Some((moved, _)) if moved == var)
    }

    pub(super) fn set(&mut self, scene: u8, var: VarId, cell: Cell) {
        if self.is_own(scene, var) {
            self.scenes[usize::from(scene)].moved = Some((var, cell));
        } else {
            self.cells[usize::from(var)] = cell;
        }
        self.changed(VarSet::one(var));
    }

    pub(super) fn changed(&mut self, vars: VarSet) {
        self.changes.push(Change { vars, ..Change::default() });
    }

    /// Settles something of a group's past; nothing settles it no more.
    pub(super) fn settle(&mut self, group: usize, number: u8, test: bool, on: Option<bool>) {
        let group = &mut self.groups[group];
        group.settle(number, test, on);
        self.changes.push(Change { past: group.all, ..Change::default() });
    }

    /// Settles whether a condition counts as held; nothing settles it no more.
    pub(super) fn hold(&mut self, scene: u8, number: u8, held: Option<bool>) {
        let scene = &mut self.scenes[usize::from(scene)];
        scene.held_known = scene.held_known & !(1 << number) | u64::from(held.is_some()) << number;
        scene.held = scene.held & !(1 << number) | u64::from(held == Some(true)) << number;
        self.changes.push(Change { held: true, ..Change::default() });
    }

    /// What was found before of a condition with this cone, where it still holds.
    pub(super) fn known_bit(&mut self, slot: usize, cone: &Cone) -> Option<Tri> {
        self.effort += 1;
        let memo = self.bits[slot];
        self.holds(memo.at, cone).then(|| {
            self.bits[slot].at = self.now();
            memo.value
        })
    }

    /// What was found before of a value with this cone, where it still holds.
    pub(super) fn known_num(&mut self, slot: usize, cone: &Cone) -> Option<Span> {
        self.effort += 1;
        let memo = self.nums[slot];
        self.holds(memo.at, cone).then(|| {
            self.nums[slot].at = self.now();
            memo.value
        })
    }

    pub(super) fn note_bit(&mut self, slot: usize, value: Tri) {
        self.bits[slot] = Memo { at: self.now(), value };
    }

    pub(super) fn note_num(&mut self, slot: usize, value: Span) {
        self.nums[slot] = Memo { at: self.now(), value };
    }

    const fn now(&self) -> u32 {
        self.base + self.changes.len() as u32
    }

    /// Whether nothing that a cone hangs on was changed since.
    fn holds(&self, at: u32, cone: &Cone) -> bool {
        let Some(known) = at.checked_sub(self.base) else { return false };
        let touches = |change: &Change| {
            change.vars.meets(cone.vars)
                || change.past.latches & cone.latches | change.past.tests & cone.tests != 0
                || change.held && cone.held
        };
        !self.changes[known as usize..].iter().rev().any(touches)
    }
}
