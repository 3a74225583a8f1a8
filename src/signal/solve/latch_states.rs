//! What latches and remembered tests can have been: the pasts that are reachable.
//!
//! A moment hangs on the positions now and on the past: which latches were on, which tests of `becomes` held. Any
//! positions can follow any past, since movements may be of several controls at once, so reachability is a fixpoint over
//! pasts alone: from each past, every achievable outcome of one more moment. Latches that hang on different controls are
//! independent, and each group has a fixpoint of its own.

use crate::signal::program::compiled::Compiled;
use crate::signal::solve::branch::branch;
use crate::signal::solve::cone::{Cone, VarSet, places};
use crate::signal::solve::dag::{Bit, BitId, Dag, Memory};
use crate::signal::solve::domains::{Domains, Hint, Tri};
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::pasts::{Group, Past, Pasts, Remembered};
use crate::signal::solve::question::Why;
use rustc_hash::FxHashMap;
use std::ops::Range;
use std::rc::Rc;

/// The most pasts of one group.
const MOST_PASTS: usize = 4096;

/// How many latches and tests of one moment may be open, and stand for both.
const MOST_OPEN: usize = 6;

/// How many cells of a past are kept in the time in which one region is looked at.
const CELLS_A_REGION: usize = 4;

/// How many pasts are gone through in the time in which one region is looked at.
const PASTS_A_REGION: usize = 64;

type Found<T> = Result<Rc<T>, Why>;

/// How latches and tests are put together to groups.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(in crate::signal) enum Grouping {
    /// Those that share a switch; sharing a stick or a knob alone does not count. Two groups may then be said to come to
    /// pasts that they can't come to together, so that only a no is proved; a yes has to be played.
    Rough,
    /// All that share any control.
    Exact,
}

/// The pasts of latches and tests, by groups.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Groups {
    pub(in crate::signal) list: Vec<Rc<Pasts>>,
    /// Whether all pasts of all groups can be come to, and come to together. Where not, only a no is proved; a yes has to be
    /// played.
    pub(in crate::signal) exact: bool,
}

/// The pasts that were found before.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct LatchStates {
    groups: FxHashMap<Remembered, Found<Pasts>>,
    sets: FxHashMap<(Remembered, Grouping), Found<Groups>>,
}

/// What one search for pasts works with.
pub(in crate::signal) struct Finder<'a> {
    pub(in crate::signal) program: &'a Compiled,
    pub(in crate::signal) dag: &'a Dag,
    pub(in crate::signal) domains: &'a mut Domains,
    pub(in crate::signal) budget: &'a mut u64,
}

impl Finder<'_> {
    /// The groups of pasts that matter for some latches and tests.
    pub(in crate::signal) fn groups(
        &mut self,
        cone: &Cone,
        grouping: Grouping,
        memory: &mut LatchStates,
    ) -> Found<Groups> {
        let wanted = Remembered { latches: cone.latches, tests: cone.tests };
        if let Some(known) = memory.sets.get(&(wanted, grouping)) {
            return known.clone();
        }
        let exact = self.divide(wanted, Grouping::Exact);
        let parts = match grouping {
            Grouping::Exact => exact.clone(),
            Grouping::Rough => self.divide(wanted, Grouping::Rough),
        };
        let found = self.find(&parts, memory).map(|list| {
            // Groups come to their pasts at the same time where those that are sooner there can wait.
            let waits = list.len() < 2 || places(wanted.latches).all(|latch| self.can_wait(latch));
            let told = waits && list.iter().all(|pasts| !pasts.rough);
            Rc::new(Groups { list, exact: told && parts.len() == exact.len() })
        });
        memory.sets.insert((wanted, grouping), found.clone());
        found
    }

    /// Whether a latch stays as it is while nothing moves: a toggle does, unless what turns it over is more than a movement.
    fn can_wait(&self, latch: usize) -> bool {
        match self.dag.latches[latch] {
            Memory::Latch { .. } => true,
            Memory::Toggle(on) => self.is_of_a_movement(on),
        }
    }

    fn is_of_a_movement(&self, bit: BitId) -> bool {
        match self.dag.bit(bit) {
            Bit::Became(_) => true,
            Bit::All(run) => self.dag.members(run).iter().any(|&member| self.is_of_a_movement(member)),
            _ => false,
        }
    }

    fn divide(&self, wanted: Remembered, grouping: Grouping) -> Vec<(Remembered, VarSet)> {
        let mut parts: Vec<(Remembered, VarSet)> = Vec::new();
        let apart = match grouping {
            Grouping::Rough => self.dag.axes,
            Grouping::Exact => VarSet::default(),
        };
        let mut add = |bit: BitId, latches: u64, tests: u64| {
            let cone = self.dag.cone(bit);
            let mut whole = (
                Remembered {
                    latches: cone.latches & wanted.latches | latches,
                    tests: cone.tests & wanted.tests | tests,
                },
                cone.vars,
            );
            // Groups that share a control, a latch or a test are one.
            parts.retain(|part| {
                let shared = part.0.latches & whole.0.latches != 0
                    || part.0.tests & whole.0.tests != 0
                    || part.1.without(apart).meets(whole.1);
                if shared {
                    whole.0.latches |= part.0.latches;
                    whole.0.tests |= part.0.tests;
                    whole.1 = whole.1.union(part.1);
                }
                !shared
            });
            parts.push(whole);
        };
        for latch in (0..64).filter(|latch| wanted.latches >> latch & 1 == 1) {
            add(self.dag.latch_bit(latch), 1 << latch, 0);
        }
        for test in (0..64).filter(|test| wanted.tests >> test & 1 == 1) {
            add(self.dag.tests[test], 0, 1 << test);
        }
        parts
    }

    fn find(&mut self, parts: &[(Remembered, VarSet)], memory: &mut LatchStates) -> Result<Vec<Rc<Pasts>>, Why> {
        let mut groups = Vec::with_capacity(parts.len());
        for &(all, vars) in parts {
            let found = match memory.groups.get(&all) {
                Some(found) => found.clone(),
                None => {
                    let found = self.fixpoint(all, vars).map(Rc::new);
                    memory.groups.insert(all, found.clone());
                    found
                }
            };
            groups.push(found?);
        }
        Ok(groups)
    }

    /// The pasts of all latches and tests of a cone as one group.
    pub(in crate::signal) fn together(&mut self, cone: &Cone) -> Result<Pasts, Why> {
        let pasts = self.fixpoint(Remembered { latches: cone.latches, tests: cone.tests }, cone.vars)?;
        if pasts.rough { Err(Why::History) } else { Ok(pasts) }
    }

    /// For each past of a group, the pasts that one more moment can lead to.
    pub(in crate::signal) fn edges(&mut self, pasts: &Pasts) -> Result<Vec<Vec<u16>>, Why> {
        let mut edges = Vec::with_capacity(pasts.list.len());
        for past in &pasts.list {
            // One more round from this past alone: what it finds are its outcomes.
            let mut round = Pasts::starting(pasts.all, pasts.vars, past.what);
            self.moment(&mut round, 0..1)?;
            edges.push(round.places.keys().filter_map(|what| pasts.places.get(what).copied()).collect());
        }
        Ok(edges)
    }

    fn fixpoint(&mut self, all: Remembered, vars: VarSet) -> Result<Pasts, Why> {
        let mut pasts = Pasts::starting(all, vars, Remembered { latches: 0, tests: all.tests });
        let mut next = 0;
        while next < pasts.list.len() {
            let last = next..pasts.list.len();
            next = last.end;
            self.moment(&mut pasts, last)?;
        }
        Ok(pasts)
    }

    /// Adds the outcomes of one more moment after any of some pasts.
    fn moment(&mut self, pasts: &mut Pasts, from: Range<usize>) -> Result<(), Why> {
        let all = pasts.all;
        self.domains.clear(self.dag);
        let before = Rc::new(pasts.part(from.clone()));
        self.domains.groups.push(Group::of(&before));
        let latches = (0..64).filter(|latch| all.latches >> latch & 1 == 1);
        let latches = latches.map(|latch| (self.dag.latch_bit(latch), latch, false));
        let tests = (0..64).filter(|test| all.tests >> test & 1 == 1);
        let tests = tests.map(|test| (self.dag.tests[usize::from(test)], test, true));
        let bits: Vec<(BitId, u8, bool)> = latches.chain(tests).collect();
        let mut eval = Eval::new(self.program, self.dag, self.domains);
        Outcomes { pasts, from: from.start, bits: &bits, budget: self.budget }.explore(&mut eval)
    }
}

struct Outcomes<'a> {
    pasts: &'a mut Pasts,
    /// The first of the pasts that one more moment is looked at of.
    from: usize,
    bits: &'a [(BitId, u8, bool)],
    budget: &'a mut u64,
}

/// What one moment makes of a past, in a region of positions.
#[derive(Clone, Copy, Debug, Default)]
struct Outcome {
    /// What is on, or holds, whatever the past.
    on: Remembered,
    /// The latches that stay as they were, and those that turn over.
    stays: u64,
    turns: u64,
}

impl Outcome {
    const fn of(self, past: Remembered) -> Remembered {
        let latches = self.on.latches | past.latches & self.stays | !past.latches & self.turns;
        Remembered { latches, tests: self.on.tests }
    }
}

impl Outcomes<'_> {
    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        if !eval.domains.spend(self.budget) {
            return Err(Why::Budget);
        }
        let mut outcome = Outcome::default();
        let mut open = Vec::new();
        for &(bit, number, test) in self.bits {
            match eval.bit(0, bit) {
                Tri::True => outcome.on.set(number, test, true),
                Tri::False => {}
                // It hangs on the past alone: no need to look at each of them on its own.
                Tri::Maybe(Hint::Past { number: own, test: false, .. }) if own == number && !test => {
                    match eval.dag.latches[usize::from(number)] {
                        Memory::Toggle(on) if eval.bit(0, on) == Tri::True => outcome.turns |= 1 << number,
                        _ => outcome.stays |= 1 << number,
                    }
                }
                Tri::Maybe(hint) if hint.leads_on() => return branch(eval, hint, &mut |eval| self.explore(eval)),
                Tri::Maybe(_) => open.push((number, test)),
            }
        }
        self.pasts.rough |= !open.is_empty();
        let pasts: Vec<usize> = eval.domains.groups[0].left().collect();
        // What is gone through is paid for.
        *self.budget = self.budget.saturating_sub((pasts.len() / PASTS_A_REGION) as u64);
        for past in pasts {
            let from = self.from + past;
            self.come_to(eval, from, outcome.of(self.pasts.list[from].what), &open)?;
        }
        Ok(())
    }

    /// Adds an outcome; what is open of it may be either.
    fn come_to(&mut self, eval: &Eval<'_>, from: usize, mut what: Remembered, open: &[(u8, bool)]) -> Result<(), Why> {
        if let Some((&(number, test), others)) = open.split_first() {
            if open.len() > MOST_OPEN {
                return Err(Why::History);
            }
            self.come_to(eval, from, what, others)?;
            what.set(number, test, true);
            return self.come_to(eval, from, what, others);
        }
        if !self.pasts.places.contains_key(&what) {
            if self.pasts.list.len() >= MOST_PASTS {
                return Err(Why::Budget);
            }
            self.pasts.places.insert(what, self.pasts.list.len() as u16);
            let vars = eval.dag.each_var(self.pasts.vars);
            let stand: Vec<_> = vars.map(|var| (var, eval.domains.cells[usize::from(var)])).collect();
            // What is kept is paid for: this bounds the memory of all pasts of a model.
            *self.budget = self.budget.saturating_sub((stand.len() / CELLS_A_REGION) as u64);
            let held = eval.domains.scenes[0].held;
            self.pasts.list.push(Past { what, from: Some((from as u16, (stand, held))) });
        }
        Ok(())
    }
}
