//! What has to hold for a goal to hold, taken for granted: positions that can't be are left out of the region without
//! looking at them one by one.

use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{Bit, BitId, Memory, VarId};
use crate::signal::solve::domains::{Tri, tri};
use crate::signal::solve::evaluate::Eval;

/// The goal can't be reached in this region.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) struct Impossible;

/// Whether the region became smaller.
pub(in crate::signal) type Narrowed = Result<bool, Impossible>;

/// How often goals are gone through, since one can tell more about another.
const ROUNDS: usize = 4;

impl Eval<'_> {
    /// Looks at what goals leave of the region, and takes back what was left out. Where the look ends early, the region stays
    /// as it was seen.
    pub(in crate::signal) fn with<E>(
        &mut self,
        goals: impl Iterator<Item = (u8, BitId)> + Clone,
        visit: impl FnOnce(&mut Self) -> Result<(), E>,
    ) -> Result<(), E> {
        let trail = self.domains.trail.len();
        if self.propagate(goals).is_ok() {
            visit(self)?;
        }
        self.backtrack(trail);
        Ok(())
    }

    /// Leaves out of the region what can't be where all these conditions hold in their moments, and where switches that
    /// move come to other positions. [`Eval::backtrack`] takes it back.
    pub(in crate::signal) fn propagate(
        &mut self,
        goals: impl Iterator<Item = (u8, BitId)> + Clone,
    ) -> Result<(), Impossible> {
        for _ in 0..ROUNDS {
            let mut changed = false;
            self.domains.demands.clear();
            for (scene, goal) in goals.clone() {
                changed |= self.require(scene, goal, true)?;
            }
            for scene in 1..self.domains.scenes.len() {
                changed |= self.part(scene as u8)?;
            }
            changed |= self.contract_to_demands()?;
            if !changed {
                break;
            }
        }
        self.sums_meet_demands()
    }

    /// Undoes what [`Eval::propagate`] did since the trail was this long.
    pub(in crate::signal) fn backtrack(&mut self, trail: usize) {
        while self.domains.trail.len() > trail {
            let Some((scene, var, cell)) = self.domains.trail.pop() else { return };
            self.domains.set(scene, var, cell);
        }
    }

    pub(in crate::signal) fn require(&mut self, scene: u8, id: BitId, want: bool) -> Narrowed {
        match self.bit(scene, id) {
            Tri::True => return if want { Ok(false) } else { Err(Impossible) },
            Tri::False => return if want { Err(Impossible) } else { Ok(false) },
            Tri::Maybe(_) => {}
        }
        let dag = self.dag;
        match dag.bit(id) {
            Bit::In(var, mask) => self.keep(scene, var, if want { mask } else { !mask }),
            Bit::Above { var, strict, limit } => {
                let Cell::Range { low, high, low_open, high_open } = self.cell(scene, var) else { return Ok(false) };
                let part = if want {
                    Cell::Range { low: limit, high, low_open: strict, high_open }
                } else {
                    Cell::Range { low, high: limit, low_open, high_open: !strict }
                };
                self.leave(scene, var, part);
                Ok(true)
            }
            Bit::Not(of) => self.require(scene, of, !want),
            Bit::All(run) if want => self.each(scene, dag.members(run), true),
            Bit::Any(run) if !want => self.each(scene, dag.members(run), false),
            Bit::All(run) | Bit::Any(run) => self.last(scene, dag.members(run), want),
            Bit::If(when, a, b) => {
                let against = if want { Tri::False } else { Tri::True };
                match self.bit(scene, when) {
                    Tri::True => self.require(scene, a, want),
                    Tri::False => self.require(scene, b, want),
                    Tri::Maybe(_) if self.bit(scene, a) == against => {
                        Ok(self.require(scene, when, false)? | self.require(scene, b, want)?)
                    }
                    Tri::Maybe(_) if self.bit(scene, b) == against => {
                        Ok(self.require(scene, when, true)? | self.require(scene, a, want)?)
                    }
                    Tri::Maybe(_) => Ok(false),
                }
            }
            Bit::Became(test) => {
                let test = dag.tests[usize::from(test)];
                if want {
                    let now = self.require(scene, test, true)?;
                    return Ok(scene > 0 && self.require(0, test, false)? || now);
                }
                // What holds now held before too, or it would have become.
                if scene > 0 && self.bit(scene, test) == Tri::True { self.require(0, test, true) } else { Ok(false) }
            }
            Bit::Held { of, .. } if want => self.require(scene, of, true),
            Bit::Latch(number) => self.require_latch(scene, number, want),
            Bit::Over { .. } => {
                self.domains.demands.push((scene, id, want));
                Ok(false)
            }
            Bit::Const(_) | Bit::Held { .. } | Bit::NotKnown(_) | Bit::Unknown(_) | Bit::Close { .. } => Ok(false),
        }
    }

    fn require_latch(&mut self, scene: u8, number: u8, want: bool) -> Narrowed {
        let (set, reset) = match self.dag.latches[usize::from(number)] {
            Memory::Latch { set, reset } => (set, reset),
            Memory::Toggle(on) => return self.require_toggle(scene, number, on, want),
        };
        if want {
            let changed = self.require(scene, reset, false)?;
            if self.was_on(scene, number) == Tri::False {
                return Ok(self.require(scene, set, true)? || changed);
            }
            if scene > 0 && self.bit(scene, set) == Tri::False {
                return Ok(self.require(0, self.dag.latch_bit(number), true)? || changed);
            }
            return Ok(changed);
        }
        if self.bit(scene, reset) != Tri::False {
            return Ok(false);
        }
        let changed = self.require(scene, set, false)?;
        Ok(scene > 0 && self.require(0, self.dag.latch_bit(number), false)? || changed)
    }

    fn require_toggle(&mut self, scene: u8, number: u8, on: BitId, want: bool) -> Narrowed {
        match (self.was_on(scene, number), self.bit(scene, on)) {
            (was @ (Tri::True | Tri::False), _) => self.require(scene, on, tri(want) != was),
            (_, turns @ (Tri::True | Tri::False)) if scene > 0 => {
                self.require(0, self.dag.latch_bit(number), tri(want) != turns)
            }
            _ => Ok(false),
        }
    }

    fn each(&mut self, scene: u8, members: &[BitId], want: bool) -> Narrowed {
        let mut changed = false;
        for &member in members {
            changed |= self.require(scene, member, want)?;
        }
        Ok(changed)
    }

    /// One of these has to come out as wanted: where all others can't, the last one left has to.
    fn last(&mut self, scene: u8, members: &[BitId], want: bool) -> Narrowed {
        let mut left = None;
        for &member in members {
            if let Tri::Maybe(_) = self.bit(scene, member) {
                if left.is_some() {
                    return Ok(false);
                }
                left = Some(member);
            }
        }
        left.map_or(Ok(false), |member| self.require(scene, member, want))
    }

    /// A switch that moves comes to another position.
    fn part(&mut self, scene: u8) -> Narrowed {
        let Some((var, Cell::Mask(to))) = self.domains.scenes[usize::from(scene)].moved else { return Ok(false) };
        let Cell::Mask(from) = self.domains.cells[usize::from(var)] else { return Ok(false) };
        let mut changed = false;
        if from.count_ones() == 1 && to & from != 0 {
            changed = self.keep(scene, var, !from)?;
        }
        if to.count_ones() == 1 && to & from != 0 && from != to {
            self.leave(0, var, Cell::Mask(from & !to));
            changed = true;
        }
        Ok(changed)
    }

    pub(in crate::signal) fn keep(&mut self, scene: u8, var: VarId, mask: u64) -> Narrowed {
        let Cell::Mask(now) = self.cell(scene, var) else { return Ok(false) };
        if now & mask == 0 {
            return Err(Impossible);
        }
        if now & mask == now {
            return Ok(false);
        }
        self.leave(scene, var, Cell::Mask(now & mask));
        Ok(true)
    }

    /// Leaves a part of the cell; [`Eval::backtrack`] takes it back.
    pub(in crate::signal) fn leave(&mut self, scene: u8, var: VarId, cell: Cell) {
        // The cell belongs to the first moment where this one has none of its own.
        let whole = self.cell(scene, var);
        let scene = if self.domains.is_own(scene, var) { scene } else { 0 };
        self.domains.trail.push((scene, var, whole));
        self.domains.set(scene, var, cell);
    }
}
