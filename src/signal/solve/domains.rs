//! The domains of the variables: what every one may still be in every moment of a question, what is settled of the past, and
//! what would help to know more. Together they are a region of positions; one is kept by the program and used again for
//! every question.

use crate::signal::number::open_interval::OpenInterval;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::{Cone, VarSet, places};
use crate::signal::solve::dag::{BitId, Dag, VarId};
use crate::signal::solve::pasts::Group;

/// What would help to decide something that is not decided yet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) enum Hint {
    /// Whether this condition on variables holds in this moment.
    Atom(u8, BitId),
    /// Whether a latch was on, or a test held, before.
    Past { group: u8, number: u8, test: bool },
    /// Whether a condition counts as held.
    Held(u8, u8),
    /// Where the switch that moves stood, and where it goes: not to where it was.
    Apart(u8),
    /// Nothing: a curved value comes too close to a limit in this comparison, in this moment.
    Close(u8, BitId),
    /// Nothing: the pulse of this channel is not known.
    NotKnown(u16),
}

impl Hint {
    /// Whether anything can be done about it.
    pub(in crate::signal) const fn leads_on(self) -> bool {
        !matches!(self, Self::Close(..) | Self::NotKnown(_))
    }
}

/// Whether something holds all over the region.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) enum Tri {
    True,
    False,
    Maybe(Hint),
}

pub(in crate::signal) const fn tri(value: bool) -> Tri {
    if value { Tri::True } else { Tri::False }
}

/// One moment: the state that is asked for, or the one after a step out of it.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) struct Scene {
    /// For a step: the variable that moves, and where to.
    pub(in crate::signal) moved: Option<(VarId, Cell)>,
    /// A step that moves nothing that matters.
    pub(in crate::signal) same_held: bool,
    /// Which `held` conditions are settled, and how.
    pub(in crate::signal) held_known: u64,
    pub(in crate::signal) held: u64,
}

impl Scene {
    pub(in crate::signal) const fn first() -> Self {
        Self { moved: None, same_held: false, held_known: 0, held: 0 }
    }
}

/// After how many changes each part of the region was changed last.
#[derive(Clone, Debug)]
struct Changed {
    /// By the places of their bits in sets of variables.
    vars: [u32; 64],
    latches: [u32; 64],
    tests: [u32; 64],
    held: u32,
}

impl Default for Changed {
    fn default() -> Self {
        Self { vars: [0; 64], latches: [0; 64], tests: [0; 64], held: 0 }
    }
}

/// What was found of a node, and after how many changes.
#[derive(Clone, Copy, Debug)]
struct Memo<T> {
    at: u32,
    value: T,
}

/// The region, and what was found in it so far.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Domains {
    pub(in crate::signal) cells: Vec<Cell>,
    pub(in crate::signal) scenes: Vec<Scene>,
    pub(in crate::signal) groups: Vec<Group>,
    /// What was left out, in order: the moment, the variable, and what it was before.
    pub(in crate::signal) trail: Vec<(u8, VarId, Cell)>,
    /// Comparisons of values of several variables that have to come out so.
    pub(in crate::signal) demands: Vec<(u8, BitId, bool)>,
    /// Comparisons of curved values that nothing can decide here.
    pub(in crate::signal) stuck: Vec<(u8, BitId)>,
    /// How such comparisons are supposed to come out for now: what is impossible both ways is impossible, and what is possible then
    /// is not known to be.
    pub(in crate::signal) supposed: Vec<(u8, BitId, bool)>,
    bits: Vec<Memo<Tri>>,
    nums: Vec<Memo<OpenInterval>>,
    changed: Changed,
    /// How many changes there were, and how many before this question.
    now: u32,
    base: u32,
    /// How often a node was looked at since that was last reckoned.
    effort: u64,
}

/// How often nodes may be looked at in one region before it counts for another.
const EFFORT: u64 = 256;

/// How often nodes may be looked at in one region before what is looked for there is given up.
const MOST_EFFORT: u64 = 1 << 16;

impl Domains {
    /// Everything whole again, in the first moment alone, without groups.
    pub(in crate::signal) fn clear(&mut self, dag: &Dag) {
        self.cells.clear();
        self.cells.extend(dag.vars.iter().map(|&(_, kind)| Cell::whole(kind)));
        self.scenes.clear();
        self.scenes.push(Scene::first());
        self.groups.clear();
        self.stuck.clear();
        self.supposed.clear();
        self.trail.clear();
        self.effort = 0;
        self.forget();
    }

    /// Forgets what was found.
    pub(in crate::signal) fn forget(&mut self) {
        if self.now > u32::MAX / 2 {
            self.bits.clear();
            self.nums.clear();
            (self.changed, self.now) = (Changed::default(), 0);
        }
        self.now += 1;
        self.base = self.now;
    }

    /// Counts some work that nothing else counts; false where it is too much for this region.
    pub(in crate::signal) fn work(&mut self, steps: u64) -> bool {
        self.effort += steps;
        !self.is_tired()
    }

    /// Whether so much was worked out in this region that looks at it end early: what they say is not known then.
    pub(in crate::signal) const fn is_tired(&self) -> bool {
        self.effort > MOST_EFFORT
    }

    /// Takes this region off a budget, and what was worked out so far; false where that is more than is left.
    pub(in crate::signal) fn spend(&mut self, budget: &mut u64) -> bool {
        let cost = 1 + self.effort / EFFORT;
        self.effort %= EFFORT;
        let left = budget.checked_sub(cost);
        *budget = left.unwrap_or(0);
        left.is_some()
    }

    /// Makes room for what will be found.
    pub(in crate::signal) fn make_room(&mut self, (bits, nums): (usize, usize)) {
        let scenes = self.scenes.len();
        if self.bits.len() < bits * scenes {
            self.bits.resize(bits * scenes, Memo { at: 0, value: Tri::False });
        }
        if self.nums.len() < nums * scenes {
            self.nums.resize(nums * scenes, Memo { at: 0, value: OpenInterval::ALL });
        }
    }

    pub(in crate::signal) fn cell(&self, scene: u8, var: VarId) -> Cell {
        match self.scenes[usize::from(scene)].moved {
            Some((moved, cell)) if moved == var => cell,
            _ => self.cells[usize::from(var)],
        }
    }

    /// Whether the cell of a variable in a moment is that moment's own, not the first one's.
    pub(in crate::signal) fn is_own(&self, scene: u8, var: VarId) -> bool {
        matches!(self.scenes[usize::from(scene)].moved, Some((moved, _)) if moved == var)
    }

    pub(in crate::signal) fn set(&mut self, scene: u8, var: VarId, cell: Cell) {
        if self.is_own(scene, var) {
            self.scenes[usize::from(scene)].moved = Some((var, cell));
        } else {
            self.cells[usize::from(var)] = cell;
        }
        self.changed(VarSet::one(var));
    }

    pub(in crate::signal) fn changed(&mut self, vars: VarSet) {
        self.now += 1;
        vars.places().for_each(|at| self.changed.vars[at] = self.now);
    }

    /// Settles something of a group's past; nothing settles it no more.
    pub(in crate::signal) fn settle(&mut self, group: usize, number: u8, test: bool, on: Option<bool>) {
        let group = &mut self.groups[group];
        group.settle(number, test, on);
        self.now += 1;
        places(group.all.latches).for_each(|at| self.changed.latches[at] = self.now);
        places(group.all.tests).for_each(|at| self.changed.tests[at] = self.now);
    }

    /// Settles whether a condition counts as held; nothing settles it no more.
    pub(in crate::signal) fn hold(&mut self, scene: u8, number: u8, held: Option<bool>) {
        let scene = &mut self.scenes[usize::from(scene)];
        scene.held_known = scene.held_known & !(1 << number) | u64::from(held.is_some()) << number;
        scene.held = scene.held & !(1 << number) | u64::from(held == Some(true)) << number;
        self.now += 1;
        self.changed.held = self.now;
    }

    /// What was found before of a condition with this cone, where it still holds.
    pub(in crate::signal) fn known_bit(&mut self, slot: usize, cone: &Cone) -> Option<Tri> {
        self.effort += 1;
        let memo = self.bits[slot];
        self.holds(memo.at, cone).then(|| {
            self.bits[slot].at = self.now;
            memo.value
        })
    }

    /// What was found before of a value with this cone, where it still holds.
    pub(in crate::signal) fn known_num(&mut self, slot: usize, cone: &Cone) -> Option<OpenInterval> {
        self.effort += 1;
        let memo = self.nums[slot];
        self.holds(memo.at, cone).then(|| {
            self.nums[slot].at = self.now;
            memo.value
        })
    }

    pub(in crate::signal) fn note_bit(&mut self, slot: usize, value: Tri) {
        self.bits[slot] = Memo { at: self.now, value };
    }

    pub(in crate::signal) fn note_num(&mut self, slot: usize, value: OpenInterval) {
        self.nums[slot] = Memo { at: self.now, value };
    }

    /// Whether nothing that a cone hangs on was changed since.
    fn holds(&self, at: u32, cone: &Cone) -> bool {
        if at < self.base || at == self.now {
            return at == self.now;
        }
        let changed = &self.changed;
        cone.vars.places().all(|var| changed.vars[var] <= at)
            && places(cone.latches).all(|latch| changed.latches[latch] <= at)
            && places(cone.tests).all(|test| changed.tests[test] <= at)
            && !(cone.held && changed.held > at)
    }
}
