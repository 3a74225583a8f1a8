//! The domains of the variables: what every one may still be in every moment of a question, what is settled of the past, and
//! what would help to know more. Together they are a region of positions; one is kept by the program and used again for
//! every question.

use crate::signal::number::open_interval::OpenInterval;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::{Cone, VarSet};
use crate::signal::solve::dag::{BitId, Dag, VarId};
use crate::signal::solve::pasts::{Group, Remembered};

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
    /// Nothing: a curved value comes too close to a limit.
    Close,
    /// Nothing: the pulse of this channel is not known.
    NotKnown(u16),
}

impl Hint {
    /// Whether anything can be done about it.
    pub(in crate::signal) const fn leads_on(self) -> bool {
        !matches!(self, Self::Close | Self::NotKnown(_))
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
    bits: Vec<Memo<Tri>>,
    nums: Vec<Memo<OpenInterval>>,
    changes: Vec<Change>,
    /// The number of changes before this question.
    base: u32,
    /// How often a node was looked at since that was last reckoned.
    effort: u64,
}

/// How often nodes may be looked at in one region before it counts for another.
const EFFORT: u64 = 256;

impl Domains {
    /// Everything whole again, in the first moment alone, without groups.
    pub(in crate::signal) fn clear(&mut self, dag: &Dag) {
        self.cells.clear();
        self.cells.extend(dag.vars.iter().map(|&(_, kind)| Cell::whole(kind)));
        self.scenes.clear();
        self.scenes.push(Scene::first());
        self.groups.clear();
        self.stuck.clear();
        self.trail.clear();
        self.effort = 0;
        self.forget();
    }

    /// Forgets what was found.
    pub(in crate::signal) fn forget(&mut self) {
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
        self.changes.push(Change { vars, ..Change::default() });
    }

    /// Settles something of a group's past; nothing settles it no more.
    pub(in crate::signal) fn settle(&mut self, group: usize, number: u8, test: bool, on: Option<bool>) {
        let group = &mut self.groups[group];
        group.settle(number, test, on);
        self.changes.push(Change { past: group.all, ..Change::default() });
    }

    /// Settles whether a condition counts as held; nothing settles it no more.
    pub(in crate::signal) fn hold(&mut self, scene: u8, number: u8, held: Option<bool>) {
        let scene = &mut self.scenes[usize::from(scene)];
        scene.held_known = scene.held_known & !(1 << number) | u64::from(held.is_some()) << number;
        scene.held = scene.held & !(1 << number) | u64::from(held == Some(true)) << number;
        self.changes.push(Change { held: true, ..Change::default() });
    }

    /// What was found before of a condition with this cone, where it still holds.
    pub(in crate::signal) fn known_bit(&mut self, slot: usize, cone: &Cone) -> Option<Tri> {
        self.effort += 1;
        let memo = self.bits[slot];
        self.holds(memo.at, cone).then(|| {
            self.bits[slot].at = self.now();
            memo.value
        })
    }

    /// What was found before of a value with this cone, where it still holds.
    pub(in crate::signal) fn known_num(&mut self, slot: usize, cone: &Cone) -> Option<OpenInterval> {
        self.effort += 1;
        let memo = self.nums[slot];
        self.holds(memo.at, cone).then(|| {
            self.nums[slot].at = self.now();
            memo.value
        })
    }

    pub(in crate::signal) fn note_bit(&mut self, slot: usize, value: Tri) {
        self.bits[slot] = Memo { at: self.now(), value };
    }

    pub(in crate::signal) fn note_num(&mut self, slot: usize, value: OpenInterval) {
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
