//! What latches and remembered tests can have been: the pasts that are reachable.
//!
//! A moment hangs on the positions now and on the past: which latches were on, which tests of `becomes` held. Any
//! positions can follow any past, since movements may be of several controls at once, so reachability is a fixpoint over
//! pasts alone: from each past, every achievable outcome of one more moment. Latches that hang on different controls are
//! independent, and each group has a fixpoint of its own.

use super::cone::Cone;
use super::eval::Eval;
use super::net::{BitId, Net, VarId};
use super::program::Program;
use super::question::Why;
use super::region::{Cell, Group, Hint, Scene, Tri};
use super::search::split;
use rustc_hash::FxHashMap;
use std::rc::Rc;

/// Where the variables of a group stood in one moment, and which `held` conditions counted as held.
pub(super) type Moment = (Vec<(VarId, Cell)>, u64);

/// One reachable past, and how it comes about.
#[derive(Clone, Debug)]
pub(super) struct Past {
    /// Latches that are on.
    pub(super) latches: u64,
    /// Tests that hold. For the start all count as holding, so that nothing becomes anything.
    pub(super) tests: u64,
    /// The past before, and where everything stood in the moment that led here; `None` for the start.
    pub(super) from: Option<(u16, Moment)>,
}

/// The pasts of a group of latches and tests that hang on common controls.
#[derive(Clone, Debug)]
pub(super) struct Pasts {
    pub(super) latches: u64,
    pub(super) tests: u64,
    pub(super) vars: Vec<VarId>,
    pub(super) list: Vec<Past>,
}

/// The most pasts of one group.
const MOST_PASTS: usize = 4096;

/// The groups of pasts that matter for some latches and tests.
pub(super) fn groups(
    program: &Program,
    net: &Net,
    latches: u64,
    tests: u64,
    budget: &mut u64,
    known: &mut FxHashMap<(u64, u64), Result<Rc<Pasts>, Why>>,
) -> Result<Vec<Rc<Pasts>>, Why> {
    let mut parts: Vec<(u64, u64, Vec<VarId>)> = Vec::new();
    let mut add = |bit: BitId, latch: u64, test: u64| {
        let cone = Cone::of(net, &[bit], &[]);
        let mut whole = (cone.latches & latches | latch, cone.tests & tests | test, cone.vars);
        // Groups that share a control, a latch or a test are one.
        parts.retain(|part| {
            let shared =
                part.0 & whole.0 != 0 || part.1 & whole.1 != 0 || part.2.iter().any(|var| whole.2.contains(var));
            if shared {
                whole.0 |= part.0;
                whole.1 |= part.1;
                let more: Vec<VarId> = part.2.iter().copied().filter(|var| !whole.2.contains(var)).collect();
                whole.2.extend(more);
            }
            !shared
        });
        parts.push(whole);
    };
    for latch in (0..64).filter(|latch| latches >> latch & 1 == 1) {
        add(net.latch_bit(latch as u8), 1 << latch, 0);
    }
    for test in (0..64).filter(|test| tests >> test & 1 == 1) {
        add(net.tests[test], 0, 1 << test);
    }
    let mut groups = Vec::with_capacity(parts.len());
    for (latches, tests, vars) in parts {
        let found = match known.get(&(latches, tests)) {
            Some(found) => found.clone(),
            None => {
                let found = fixpoint(program, net, latches, tests, vars, budget).map(Rc::new);
                known.insert((latches, tests), found.clone());
                found
            }
        };
        groups.push(found?);
    }
    Ok(groups)
}

/// The pasts of all these latches and tests as one group.
pub(super) fn together(
    program: &Program,
    net: &Net,
    latches: u64,
    tests: u64,
    vars: &[VarId],
    budget: &mut u64,
) -> Result<Pasts, Why> {
    fixpoint(program, net, latches, tests, vars.to_vec(), budget)
}

/// For each past of a group, the pasts that one more moment can lead to.
pub(super) fn edges(program: &Program, net: &Net, pasts: &Pasts, budget: &mut u64) -> Result<Vec<Vec<u16>>, Why> {
    let mut edges = Vec::with_capacity(pasts.list.len());
    for past in &pasts.list {
        // One more round from this past alone: what it finds are its outcomes.
        let start = Past { from: None, ..past.clone() };
        let mut round = Pasts { list: vec![start], ..pasts.clone() };
        moment(program, net, &mut round, 0, budget)?;
        let outcomes = round.list.iter().skip(1);
        let same = |a: &Past, b: &Past| (a.latches, a.tests) == (b.latches, b.tests) && b.from.is_some();
        edges.push(
            outcomes.filter_map(|to| pasts.list.iter().position(|known| same(to, known))).map(|at| at as u16).collect(),
        );
    }
    Ok(edges)
}

fn fixpoint(
    program: &Program,
    net: &Net,
    latches: u64,
    tests: u64,
    vars: Vec<VarId>,
    budget: &mut u64,
) -> Result<Pasts, Why> {
    let start = Past { latches: 0, tests, from: None };
    let mut pasts = Pasts { latches, tests, vars, list: vec![start] };
    let mut at = 0;
    while at < pasts.list.len() {
        moment(program, net, &mut pasts, at, budget)?;
        at += 1;
    }
    Ok(pasts)
}

/// Adds the outcomes of one more moment after a past.
fn moment(program: &Program, net: &Net, pasts: &mut Pasts, at: usize, budget: &mut u64) -> Result<(), Why> {
    let (latches, tests) = (pasts.latches, pasts.tests);
    let cells: Vec<Cell> = net.vars.iter().map(|&(_, kind)| Cell::whole(kind)).collect();
    let mut eval = Eval::new(program, net, cells, vec![Scene::first()]);
    let past = (pasts.list[at].latches, pasts.list[at].tests);
    eval.groups = vec![Group { latches, tests, pasts: vec![past], chosen: Some(0) }];
    let bits: Vec<(BitId, u64, u64)> = (0..64)
        .filter(|latch| latches >> latch & 1 == 1)
        .map(|latch| (net.latch_bit(latch as u8), 1u64 << latch, 0))
        .chain((0..64).filter(|test| tests >> test & 1 == 1).map(|test| (net.tests[test], 0, 1u64 << test)))
        .collect();
    Outcomes { pasts, from: at as u16, bits: &bits, budget }.explore(&mut eval)
}

struct Outcomes<'a> {
    pasts: &'a mut Pasts,
    from: u16,
    bits: &'a [(BitId, u64, u64)],
    budget: &'a mut u64,
}

impl Outcomes<'_> {
    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        *self.budget = self.budget.checked_sub(1).ok_or(Why::Budget)?;
        eval.fresh();
        let (mut latches, mut tests) = (0, 0);
        for &(bit, latch, test) in self.bits {
            match eval.bit(0, bit) {
                Tri::True => {
                    latches |= latch;
                    tests |= test;
                }
                Tri::False => {}
                // A past that can't be told leaves the whole history open.
                Tri::Maybe(Hint::Close | Hint::NotKnown(_)) => return Err(Why::History),
                Tri::Maybe(hint) => return split(eval, hint, &mut |eval| self.explore(eval)),
            }
        }
        if !self.pasts.list.iter().any(|past| (past.latches, past.tests) == (latches, tests) && past.from.is_some()) {
            if self.pasts.list.len() >= MOST_PASTS {
                return Err(Why::Budget);
            }
            let stand = self.pasts.vars.iter().map(|&var| (var, eval.cells[usize::from(var)])).collect();
            let held = eval.scenes[0].held;
            self.pasts.list.push(Past { latches, tests, from: Some((self.from, (stand, held))) });
        }
        Ok(())
    }
}
