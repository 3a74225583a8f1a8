//! The compiled form of a program: conditions and values as nodes, equal nodes stored once. A question adds its own.

use super::fix::Fix;
use super::parts::*;
use super::program::{Program, positions};
use super::state::Handle;
use rustc_hash::FxHashMap;

pub(super) type NumId = u32;
pub(super) type BitId = u32;
pub(super) type VarId = u16;

/// What a variable ranges over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// From minus to plus this, in percent.
    Axis(Fix),
    /// Positions 0..n.
    Switch(u8),
}

/// Numbers: percents, or microseconds where a pulse is asked for.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) enum Num {
    Const(Fix),
    /// An axis, a trim, or a switch's value.
    Var(VarId),
    /// A constant plus multiples of nodes; at least one, each once, in order.
    Lin {
        constant: Fix,
        terms: Vec<(Fix, NumId)>,
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
        k: Fix,
    },
    /// The first whose condition holds.
    Choose {
        lines: Vec<(BitId, NumId)>,
        otherwise: NumId,
    },
}

/// Conditions.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) enum Bit {
    Const(bool),
    /// A switch stands in one of these positions.
    In(VarId, u64),
    /// Above (strict), or at least (not strict), a limit.
    Over {
        num: NumId,
        strict: bool,
        limit: Fix,
    },
    Not(BitId),
    All(Vec<BitId>),
    Any(Vec<BitId>),
    /// The test holds and did not before.
    Became(u8),
    Held {
        number: u8,
        of: BitId,
    },
    Latch(u8),
    /// Hangs on a pulse that is not known: the channel's number.
    NotKnown(u16),
}

/// The most latches and the most remembered tests.
pub(super) const MOST_MEMORY: usize = 64;

/// A program compiled.
#[derive(Clone, Debug, Default)]
pub(super) struct Net {
    pub(super) vars: Vec<(Handle, Kind)>,
    pub(super) nums: Vec<Num>,
    pub(super) bits: Vec<Bit>,
    /// Set and reset of each latch, by its number.
    pub(super) latches: Vec<(BitId, BitId)>,
    /// The tests of `becomes`.
    pub(super) tests: Vec<BitId>,
    pub(super) var_ids: FxHashMap<Handle, VarId>,
    pub(super) num_ids: FxHashMap<Num, NumId>,
    pub(super) bit_ids: FxHashMap<Bit, BitId>,
    pub(super) test_ids: FxHashMap<BitId, u8>,
    pub(super) latch_ids: FxHashMap<u16, u8>,
    pub(super) conditions: FxHashMap<u16, BitId>,
    pub(super) channels: FxHashMap<u16, NumId>,
    pub(super) sent: FxHashMap<u16, NumId>,
    /// What was compiled before, by the condition that was asked.
    pub(super) asked: FxHashMap<Condition, BitId>,
    pub(super) shaped: FxHashMap<u16, NumId>,
}

/// A number that does not fit, or more memory than can be kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct TooLarge;

pub(super) type Fits<T> = Result<T, TooLarge>;

pub(super) fn fits<T>(value: Option<T>) -> Fits<T> {
    value.ok_or(TooLarge)
}

impl Net {
    pub(super) fn num(&self, id: NumId) -> &Num {
        &self.nums[id as usize]
    }

    pub(super) fn bit(&self, id: BitId) -> &Bit {
        &self.bits[id as usize]
    }

    /// Whether no variable stands in a value more than once, so that its parts are independent.
    pub(super) fn is_tree(&self, id: NumId) -> bool {
        let mut vars = Vec::new();
        self.once(id, &mut vars)
    }

    fn once(&self, id: NumId, vars: &mut Vec<VarId>) -> bool {
        match self.num(id) {
            Num::Const(_) => true,
            Num::Var(var) => {
                let new = !vars.contains(var);
                vars.push(*var);
                new
            }
            Num::Lin { terms, .. } => terms.iter().all(|&(_, term)| self.once(term, vars)),
            Num::Mul(a, b) | Num::Min(a, b) | Num::Max(a, b) => self.once(*a, vars) && self.once(*b, vars),
            Num::Square(of) | Num::Curve { of, .. } | Num::Expo { of, .. } => self.once(*of, vars),
            // Which line is in force was settled before; each line is looked at alone.
            Num::Choose { lines, otherwise } => {
                let before = vars.clone();
                let mut all = vars.clone();
                let mut sound = true;
                for value in lines.iter().map(|&(_, value)| value).chain([*otherwise]) {
                    let mut own = before.clone();
                    sound &= self.once(value, &mut own);
                    all.extend(own);
                }
                *vars = all;
                sound
            }
        }
    }

    /// The named condition that a latch is.
    pub(super) fn latch_condition(&self, latch: u8) -> Option<ConditionId> {
        self.latch_ids.iter().find(|(_, known)| **known == latch).map(|(&id, _)| ConditionId(id))
    }

    /// The node of a latch.
    pub(super) fn latch_bit(&self, latch: u8) -> BitId {
        self.bit_ids.get(&Bit::Latch(latch)).copied().unwrap_or_default()
    }

    pub(super) fn find_var(&self, handle: Handle) -> Option<VarId> {
        self.var_ids.get(&handle).copied()
    }

    pub(super) fn add_num(&mut self, num: Num) -> NumId {
        if let Some(&id) = self.num_ids.get(&num) {
            return id;
        }
        let id = self.nums.len() as NumId;
        self.nums.push(num.clone());
        self.num_ids.insert(num, id);
        id
    }

    pub(super) fn add_bit(&mut self, bit: Bit) -> BitId {
        if let Some(&id) = self.bit_ids.get(&bit) {
            return id;
        }
        let id = self.bits.len() as BitId;
        self.bits.push(bit.clone());
        self.bit_ids.insert(bit, id);
        id
    }

    pub(super) fn constant(&mut self, value: bool) -> BitId {
        self.add_bit(Bit::Const(value))
    }

    pub(super) fn not(&mut self, of: BitId) -> BitId {
        match *self.bit(of) {
            Bit::Const(value) => self.constant(!value),
            Bit::Not(inner) => inner,
            _ => self.add_bit(Bit::Not(of)),
        }
    }

    pub(super) fn join(&mut self, mut parts: Vec<BitId>, all: bool) -> BitId {
        parts.sort_unstable();
        parts.dedup();
        let neutral = self.constant(all);
        let decides = self.constant(!all);
        if parts.contains(&decides) {
            return decides;
        }
        parts.retain(|&part| part != neutral);
        match parts.as_slice() {
            [] => neutral,
            [one] => *one,
            _ if all => self.add_bit(Bit::All(parts)),
            _ => self.add_bit(Bit::Any(parts)),
        }
    }

    /// Makes sure that a handle has a variable.
    pub(super) fn seen(&mut self, program: &Program, handle: Handle) -> Fits<()> {
        self.var(program, handle).map(drop)
    }

    pub(super) fn var(&mut self, program: &Program, handle: Handle) -> Fits<VarId> {
        if let Some(var) = self.find_var(handle) {
            return Ok(var);
        }
        let control = |id: ControlId| program.parts.controls.get(usize::from(id.0));
        let kind = match handle {
            Handle::Control(id) => match fits(control(id))?.kind {
                ref kind if positions(kind).is_some() => Kind::Switch(positions(kind).unwrap_or(2) as u8),
                _ => Kind::Axis(Fix::HUNDRED),
            },
            Handle::Trim(id) => match fits(control(id))?.kind {
                ControlKind::Stick { trim: Some(trim), .. } => Kind::Axis(Fix::of(trim)),
                _ => Kind::Axis(Fix::ZERO),
            },
        };
        let var = self.vars.len() as VarId;
        self.vars.push((handle, kind));
        self.var_ids.insert(handle, var);
        Ok(var)
    }

    /// A linear form put together: equal nodes once, constants and other forms taken in.
    pub(super) fn lin(&mut self, mut constant: Fix, parts: Vec<(Fix, NumId)>) -> Fits<NumId> {
        let mut terms: Vec<(Fix, NumId)> = Vec::with_capacity(parts.len());
        for (by, id) in parts {
            match self.num(id).clone() {
                Num::Const(value) => constant = fits(constant.add(fits(value.mul(by))?))?,
                Num::Lin { constant: inner, terms: more } => {
                    constant = fits(constant.add(fits(inner.mul(by))?))?;
                    for (factor, node) in more {
                        terms.push((fits(factor.mul(by))?, node));
                    }
                }
                _ => terms.push((by, id)),
            }
        }
        terms.sort_by_key(|&(_, id)| id);
        let mut merged: Vec<(Fix, NumId)> = Vec::with_capacity(terms.len());
        for (by, id) in terms {
            match merged.last_mut() {
                Some(last) if last.1 == id => last.0 = fits(last.0.add(by))?,
                _ => merged.push((by, id)),
            }
        }
        merged.retain(|(by, _)| !by.is_zero());
        Ok(match merged.as_slice() {
            [] => self.add_num(Num::Const(constant)),
            [(by, id)] if *by == Fix::ONE && constant.is_zero() => *id,
            _ => self.add_num(Num::Lin { constant, terms: merged }),
        })
    }

    /// The one node that a form is a multiple of, with the multiple.
    fn factor(&self, id: NumId) -> Option<(Fix, NumId)> {
        match self.num(id) {
            Num::Lin { constant, terms } if constant.is_zero() => match terms.as_slice() {
                [one] => Some(*one),
                _ => None,
            },
            Num::Lin { .. } | Num::Const(_) => None,
            _ => Some((Fix::ONE, id)),
        }
    }

    pub(super) fn product(&mut self, a: NumId, b: NumId) -> Fits<NumId> {
        let hundredth = fits(Fix::ONE.div(Fix::HUNDRED))?;
        for (one, other) in [(a, b), (b, a)] {
            if let Num::Const(value) = *self.num(one) {
                return self.lin(Fix::ZERO, vec![(fits(value.mul(hundredth))?, other)]);
            }
        }
        let (by, x) = self.factor(a).unwrap_or((Fix::ONE, a));
        let (times, y) = self.factor(b).unwrap_or((Fix::ONE, b));
        let node = if x == y { self.add_num(Num::Square(x)) } else { self.add_num(Num::Mul(x.min(y), x.max(y))) };
        self.lin(Fix::ZERO, vec![(fits(fits(by.mul(times))?.mul(hundredth))?, node)])
    }

    pub(super) fn choose(&mut self, lines: Vec<(BitId, NumId)>, otherwise: NumId) -> NumId {
        let (mut kept, mut last) = (Vec::with_capacity(lines.len()), otherwise);
        for (when, value) in lines {
            match self.bit(when) {
                Bit::Const(false) => {}
                Bit::Const(true) => {
                    last = value;
                    break;
                }
                _ => kept.push((when, value)),
            }
        }
        while kept.pop_if(|line: &mut (BitId, NumId)| line.1 == last).is_some() {}
        if kept.is_empty() { last } else { self.add_num(Num::Choose { lines: kept, otherwise: last }) }
    }
}
