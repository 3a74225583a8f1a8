//! The compiled form of a program: conditions and values as nodes in flat tables, equal nodes stored once. A question adds
//! its own. Every node knows what it hangs on, so that a question never has to look further.

use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::*;
use crate::signal::program::state::Handle;
use crate::signal::solve::cone::{Cone, Sort, VarSet};
use crate::signal::solve::hash_cons::{Index, Run, hash_of};
use rustc_hash::FxHashMap;

pub(in crate::signal) type NumId = u32;
pub(in crate::signal) type BitId = u32;
pub(in crate::signal) type VarId = u16;

/// What a variable ranges over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(in crate::signal) enum Kind {
    /// From minus to plus this, in percent.
    Axis(Rational64),
    /// Positions 0..n.
    Switch(u8),
}

/// Numbers: percents, or microseconds where a pulse is asked for.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(in crate::signal) enum Num {
    Const(Rational64),
    /// Anything: it is not known.
    Unknown(UnknownId),
    /// An axis, a trim, or a switch's value.
    Var(VarId),
    /// A constant plus multiples of nodes; at least one, each once, in order.
    Lin {
        constant: Rational64,
        terms: Run,
    },
    Mul(NumId, NumId),
    Square(NumId),
    Min(NumId, NumId),
    Max(NumId, NumId),
    Curve {
        curve: u16,
        of: NumId,
    },
    /// x · ((100 − k) + k·x²/100²) / 100, which rises with x.
    Expo {
        of: NumId,
        k: Rational64,
    },
    /// The first whose condition holds.
    Choose {
        lines: Run,
        otherwise: NumId,
    },
}

/// Conditions.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(in crate::signal) enum Bit {
    Const(bool),
    /// Either: it is not known.
    Unknown(UnknownId),
    /// A switch stands in one of these positions: neither none nor all of them.
    In(VarId, u64),
    /// An axis stands above (strict), or at or above, a limit.
    Above {
        var: VarId,
        strict: bool,
        limit: Rational64,
    },
    /// A value of several variables is above (strict), or at least (not strict), a limit.
    Over {
        num: NumId,
        strict: bool,
        limit: Rational64,
    },
    Not(BitId),
    All(Run),
    Any(Run),
    /// The second where the first holds, else the third.
    If(BitId, BitId, BitId),
    /// The test holds and did not before.
    Became(u8),
    Held {
        number: u8,
        of: BitId,
    },
    Latch(u8),
    /// Hangs on a pulse that is not known: the channel's number.
    NotKnown(u16),
    /// The argument of a curve lies past a place where this curve crosses this limit, which is no number that can be written down:
    /// near to it nothing tells on which side. Of several such places it is the one behind `low`.
    Close {
        num: NumId,
        limit: Rational64,
        strict: bool,
        low: Rational64,
    },
}

/// How what is remembered from moment to moment changes in one.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) enum Memory {
    /// On from set to reset, which wins.
    Latch { set: BitId, reset: BitId },
    /// The contrary where this holds.
    Toggle(BitId),
}

/// The most latches and the most remembered tests.
pub(in crate::signal) const MOST_MEMORY: usize = 64;

/// A program compiled.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Dag {
    pub(in crate::signal) vars: Vec<(Handle, Kind)>,
    nums: Vec<Num>,
    bits: Vec<Bit>,
    sorts: Vec<Sort>,
    cones: Vec<Cone>,
    terms: Vec<(Rational64, NumId)>,
    lines: Vec<(BitId, NumId)>,
    members: Vec<BitId>,
    /// How each latch changes, by its number.
    pub(in crate::signal) latches: Vec<Memory>,
    /// The tests of `becomes`.
    pub(in crate::signal) tests: Vec<BitId>,
    /// The condition that each latch is, and its node.
    pub(in crate::signal) latch_ids: Vec<(ConditionId, BitId)>,
    num_index: Index,
    bit_index: Index,
    /// By control: its variable, and its trim's.
    var_ids: Vec<[Option<VarId>; 2]>,
    /// The sticks, knobs, sliders and trims.
    pub(in crate::signal) axes: VarSet,
    pub(in crate::signal) made: Made,
}

/// What was compiled before, by what it was compiled from.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Made {
    pub(in crate::signal) conditions: Vec<Option<BitId>>,
    pub(in crate::signal) modes: FxHashMap<(u16, Measure), BitId>,
    /// By index in the parts: a channel's value and the pulse it sends.
    pub(in crate::signal) percents: Vec<Option<NumId>>,
    pub(in crate::signal) sent: Vec<Option<NumId>>,
    pub(in crate::signal) shaped: Vec<Option<NumId>>,
    pub(in crate::signal) over: FxHashMap<(NumId, bool, Rational64), BitId>,
    /// How many more conditions a value may still be taken apart into, in this question.
    pub(in crate::signal) fuel: u32,
}

/// A number that does not fit, or more memory than can be kept.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) struct TooLarge;

pub(in crate::signal) type Fits<T> = Result<T, TooLarge>;

pub(in crate::signal) fn fits<T>(value: Option<T>) -> Fits<T> {
    value.ok_or(TooLarge)
}

/// The place of something in a table that grows as it is asked for.
pub(in crate::signal) fn remember<T: Clone>(table: &mut Vec<Option<T>>, at: usize, value: T) {
    if table.len() <= at {
        table.resize(at + 1, None);
    }
    table[at] = Some(value);
}

impl Dag {
    /// With room for what a model of usual size needs.
    pub(in crate::signal) fn with_room() -> Self {
        Self {
            vars: Vec::with_capacity(16),
            nums: Vec::with_capacity(64),
            sorts: Vec::with_capacity(64),
            bits: Vec::with_capacity(128),
            cones: Vec::with_capacity(128),
            terms: Vec::with_capacity(32),
            lines: Vec::with_capacity(32),
            members: Vec::with_capacity(64),
            num_index: Index::with_room(56),
            bit_index: Index::with_room(112),
            ..Self::default()
        }
    }

    pub(in crate::signal) fn num(&self, id: NumId) -> Num {
        self.nums[id as usize]
    }

    pub(in crate::signal) fn bit(&self, id: BitId) -> Bit {
        self.bits[id as usize]
    }

    pub(in crate::signal) fn sort(&self, id: NumId) -> &Sort {
        &self.sorts[id as usize]
    }

    /// What a condition hangs on.
    pub(in crate::signal) fn cone(&self, id: BitId) -> &Cone {
        &self.cones[id as usize]
    }

    pub(in crate::signal) fn terms(&self, run: Run) -> &[(Rational64, NumId)] {
        &self.terms[run.range()]
    }

    pub(in crate::signal) fn lines(&self, run: Run) -> &[(BitId, NumId)] {
        &self.lines[run.range()]
    }

    /// One line, by its place in the table of lines.
    pub(in crate::signal) fn line(&self, at: usize) -> (BitId, NumId) {
        self.lines[at]
    }

    pub(in crate::signal) fn members(&self, run: Run) -> &[BitId] {
        &self.members[run.range()]
    }

    /// How many conditions and values there are.
    pub(in crate::signal) fn sizes(&self) -> (usize, usize) {
        (self.bits.len(), self.nums.len())
    }

    pub(in crate::signal) fn kind(&self, var: VarId) -> Kind {
        self.vars[usize::from(var)].1
    }

    /// All positions of a switch.
    pub(in crate::signal) fn whole_mask(&self, var: VarId) -> u64 {
        match self.kind(var) {
            Kind::Switch(n) => u64::MAX >> (64 - u32::from(n.max(1))),
            Kind::Axis(_) => 0,
        }
    }

    /// The variables of a cone.
    pub(in crate::signal) fn each_var(&self, set: VarSet) -> impl Iterator<Item = VarId> {
        set.each(self.vars.len())
    }

    /// The node of a latch.
    pub(in crate::signal) fn latch_bit(&self, latch: u8) -> BitId {
        self.latch_ids[usize::from(latch)].1
    }

    pub(in crate::signal) fn find_var(&self, handle: Handle) -> Option<VarId> {
        let (id, kind) = match handle {
            Handle::Control(id) => (id, 0),
            Handle::Trim(id) => (id, 1),
        };
        self.var_ids.get(usize::from(id.0))?[kind]
    }

    pub(in crate::signal) fn var(&mut self, program: &Compiled, handle: Handle) -> Fits<VarId> {
        if let Some(var) = self.find_var(handle) {
            return Ok(var);
        }
        let control = |id: ControlId| program.parts.controls.get(usize::from(id.0));
        let (id, at, kind) = match handle {
            Handle::Control(id) => match positions(&fits(control(id))?.kind) {
                Some(n) => (id, 0, Kind::Switch(n as u8)),
                None => (id, 0, Kind::Axis(Rational64::HUNDRED)),
            },
            Handle::Trim(id) => match fits(control(id))?.kind {
                ControlKind::Stick { trim: Some(trim), .. } => (id, 1, Kind::Axis(trim)),
                _ => (id, 1, Kind::Axis(Rational64::ZERO)),
            },
        };
        let var = self.vars.len() as VarId;
        self.vars.push((handle, kind));
        if let Kind::Axis(_) = kind {
            self.axes = self.axes.union(VarSet::one(var));
        }
        let control = usize::from(id.0);
        if self.var_ids.len() <= control {
            self.var_ids.resize(control + 1, [None; 2]);
        }
        self.var_ids[control][at] = Some(var);
        Ok(var)
    }

    pub(in crate::signal) fn lin_node(&mut self, constant: Rational64, terms: &[(Rational64, NumId)]) -> NumId {
        let hash = hash_of(&(0u8, constant, terms));
        let same = |id: u32| matches!(self.nums[id as usize], Num::Lin { constant: known, terms: run } if known == constant && self.terms(run) == terms);
        if let Some(id) = self.num_index.find(hash, same) {
            return id;
        }
        let run = Run::push(&mut self.terms, terms);
        self.new_num(hash, Num::Lin { constant, terms: run })
    }

    pub(in crate::signal) fn choose_node(&mut self, lines: &[(BitId, NumId)], otherwise: NumId) -> NumId {
        let hash = hash_of(&(1u8, otherwise, lines));
        let same = |id: u32| matches!(self.nums[id as usize], Num::Choose { lines: run, otherwise: known } if known == otherwise && self.lines(run) == lines);
        if let Some(id) = self.num_index.find(hash, same) {
            return id;
        }
        let run = Run::push(&mut self.lines, lines);
        self.new_num(hash, Num::Choose { lines: run, otherwise })
    }

    /// Any other value.
    pub(in crate::signal) fn num_node(&mut self, num: Num) -> NumId {
        let hash = hash_of(&num);
        match self.num_index.find(hash, |id| self.nums[id as usize] == num) {
            Some(id) => id,
            None => self.new_num(hash, num),
        }
    }

    pub(in crate::signal) fn join_node(&mut self, members: &[BitId], all: bool) -> BitId {
        let hash = hash_of(&(all, members));
        let same = |id: u32| match self.bits[id as usize] {
            Bit::All(run) if all => self.members(run) == members,
            Bit::Any(run) if !all => self.members(run) == members,
            _ => false,
        };
        if let Some(id) = self.bit_index.find(hash, same) {
            return id;
        }
        let run = Run::push(&mut self.members, members);
        self.new_bit(hash, if all { Bit::All(run) } else { Bit::Any(run) })
    }

    /// Any other condition.
    pub(in crate::signal) fn bit_node(&mut self, bit: Bit) -> BitId {
        let hash = hash_of(&bit);
        match self.bit_index.find(hash, |id| self.bits[id as usize] == bit) {
            Some(id) => id,
            None => self.new_bit(hash, bit),
        }
    }

    fn new_num(&mut self, hash: u64, num: Num) -> NumId {
        let sort = self.sort_of(num);
        let id = self.nums.len() as NumId;
        self.nums.push(num);
        self.sorts.push(sort);
        self.num_index.add(hash, id);
        id
    }

    fn new_bit(&mut self, hash: u64, bit: Bit) -> BitId {
        let cone = self.cone_of(bit);
        let id = self.bits.len() as BitId;
        self.bits.push(bit);
        self.cones.push(cone);
        self.bit_index.add(hash, id);
        id
    }
}
