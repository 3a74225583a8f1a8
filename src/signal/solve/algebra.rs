//! Nodes put together in one normal form, so that equal conditions and values become equal nodes, and what is constant is
//! found at once.

use crate::signal::number::rational64::Rational64;
use crate::signal::solve::dag::{Bit, BitId, Dag, Fits, Num, NumId, VarId, fits};

impl Dag {
    pub(in crate::signal) fn constant(&mut self, value: bool) -> BitId {
        self.bit_node(Bit::Const(value))
    }

    /// A switch in one of these positions.
    pub(in crate::signal) fn stands_in(&mut self, var: VarId, mask: u64) -> BitId {
        let whole = self.whole_mask(var);
        match mask & whole {
            0 => self.constant(false),
            all if all == whole => self.constant(true),
            mask => self.bit_node(Bit::In(var, mask)),
        }
    }

    pub(in crate::signal) fn not(&mut self, of: BitId) -> BitId {
        match self.bit(of) {
            Bit::Const(value) => self.constant(!value),
            Bit::In(var, mask) => self.stands_in(var, !mask),
            Bit::Not(inner) => inner,
            Bit::NotKnown(_) | Bit::Unknown(_) => of,
            _ => self.bit_node(Bit::Not(of)),
        }
    }

    pub(in crate::signal) fn and(&mut self, a: BitId, b: BitId) -> BitId {
        match (self.bit(a), self.bit(b)) {
            (Bit::Const(false), _) | (_, Bit::Const(true)) => return a,
            (Bit::Const(true), _) | (_, Bit::Const(false)) => return b,
            _ => {}
        }
        self.join(vec![a, b], true)
    }

    pub(in crate::signal) fn or(&mut self, a: BitId, b: BitId) -> BitId {
        match (self.bit(a), self.bit(b)) {
            (Bit::Const(true), _) | (_, Bit::Const(false)) => return a,
            (Bit::Const(false), _) | (_, Bit::Const(true)) => return b,
            _ => {}
        }
        self.join(vec![a, b], false)
    }

    /// All of them, or any of them.
    pub(in crate::signal) fn join(&mut self, mut parts: Vec<BitId>, all: bool) -> BitId {
        // Members of members that are joined alike are members; positions of one switch are one member.
        let mut at = 0;
        while at < parts.len() {
            match self.bit(parts[at]) {
                Bit::All(run) if all => {
                    parts.swap_remove(at);
                    parts.extend_from_slice(self.members(run));
                }
                Bit::Any(run) if !all => {
                    parts.swap_remove(at);
                    parts.extend_from_slice(self.members(run));
                }
                Bit::In(var, mask) => {
                    let same = |other: &BitId| match self.bit(*other) {
                        Bit::In(known, more) if known == var => Some(more),
                        _ => None,
                    };
                    let Some((before, more)) = parts[..at].iter().enumerate().find_map(|(i, p)| Some((i, same(p)?)))
                    else {
                        at += 1;
                        continue;
                    };
                    parts[before] = self.stands_in(var, if all { mask & more } else { mask | more });
                    parts.swap_remove(at);
                }
                Bit::Const(value) if value != all => return parts[at],
                Bit::Const(_) => drop(parts.swap_remove(at)),
                _ => at += 1,
            }
        }
        parts.sort_unstable();
        parts.dedup();
        let contrary = |part: &BitId| match self.bit(*part) {
            // What hangs on an unknown pulse is not known to be one or the other.
            Bit::Not(of) => !self.cone(of).unknown && parts.binary_search(&of).is_ok(),
            Bit::Const(value) => value != all,
            _ => false,
        };
        if parts.iter().any(contrary) {
            return self.constant(!all);
        }
        parts.retain(|&part| self.bit(part) != Bit::Const(all));
        match parts.as_slice() {
            [] => self.constant(all),
            [one] => *one,
            _ => self.join_node(&parts, all),
        }
    }

    /// `a` where `when` holds, else `b`.
    pub(in crate::signal) fn either(&mut self, when: BitId, a: BitId, b: BitId) -> BitId {
        if a == b {
            return a;
        }
        match (self.bit(when), self.bit(a), self.bit(b)) {
            (Bit::Const(true), ..) => a,
            (Bit::Const(false), ..) => b,
            (_, Bit::Const(true), _) => self.or(when, b),
            (_, _, Bit::Const(false)) => self.and(when, a),
            (_, Bit::Const(false), _) => {
                let not = self.not(when);
                self.and(not, b)
            }
            (_, _, Bit::Const(true)) => {
                let not = self.not(when);
                self.or(not, a)
            }
            (Bit::Not(inner), ..) => self.bit_node(Bit::If(inner, b, a)),
            _ => self.bit_node(Bit::If(when, a, b)),
        }
    }

    /// A linear form put together: equal nodes once, constants and other forms taken in.
    pub(in crate::signal) fn lin(&mut self, mut constant: Rational64, parts: &[(Rational64, NumId)]) -> Fits<NumId> {
        let mut terms: Vec<(Rational64, NumId)> = Vec::with_capacity(parts.len());
        for &(by, id) in parts {
            match self.num(id) {
                Num::Const(value) => constant = fits(constant.add(fits(value.mul(by))?))?,
                Num::Lin { constant: inner, terms: more } => {
                    constant = fits(constant.add(fits(inner.mul(by))?))?;
                    for &(factor, node) in self.terms(more) {
                        terms.push((fits(factor.mul(by))?, node));
                    }
                }
                _ => terms.push((by, id)),
            }
        }
        terms.sort_by_key(|&(_, id)| id);
        let mut kept = 0;
        for at in 0..terms.len() {
            let (by, id) = terms[at];
            if kept > 0 && terms[kept - 1].1 == id {
                terms[kept - 1].0 = fits(terms[kept - 1].0.add(by))?;
            } else {
                terms[kept] = (by, id);
                kept += 1;
            }
        }
        terms.truncate(kept);
        terms.retain(|(by, _)| !by.is_zero());
        Ok(match terms.as_slice() {
            [] => self.num_node(Num::Const(constant)),
            [(by, id)] if *by == Rational64::ONE && constant.is_zero() => *id,
            terms => self.lin_node(constant, terms),
        })
    }

    /// The one node that a form is a multiple of, with the multiple.
    fn factor(&self, id: NumId) -> Option<(Rational64, NumId)> {
        match self.num(id) {
            Num::Lin { constant, terms } if constant.is_zero() => match self.terms(terms) {
                [one] => Some(*one),
                _ => None,
            },
            Num::Lin { .. } | Num::Const(_) => None,
            _ => Some((Rational64::ONE, id)),
        }
    }

    /// The product of percents.
    pub(in crate::signal) fn product(&mut self, a: NumId, b: NumId) -> Fits<NumId> {
        let hundredth = fits(Rational64::ONE.div(Rational64::HUNDRED))?;
        for (one, other) in [(a, b), (b, a)] {
            if let Num::Const(value) = self.num(one) {
                return self.lin(Rational64::ZERO, &[(fits(value.mul(hundredth))?, other)]);
            }
        }
        let (by, x) = self.factor(a).unwrap_or((Rational64::ONE, a));
        let (times, y) = self.factor(b).unwrap_or((Rational64::ONE, b));
        let node = if x == y { self.num_node(Num::Square(x)) } else { self.num_node(Num::Mul(x.min(y), x.max(y))) };
        self.lin(Rational64::ZERO, &[(fits(fits(by.mul(times))?.mul(hundredth))?, node)])
    }

    /// The first line whose condition holds, else `otherwise`.
    pub(in crate::signal) fn choose(&mut self, mut lines: Vec<(BitId, NumId)>, otherwise: NumId) -> NumId {
        let mut last = otherwise;
        if let Some(sure) = lines.iter().position(|&(when, _)| self.bit(when) == Bit::Const(true)) {
            last = lines[sure].1;
            lines.truncate(sure);
        }
        lines.retain(|&(when, _)| self.bit(when) != Bit::Const(false));
        while lines.pop_if(|line| line.1 == last).is_some() {}
        if lines.is_empty() { last } else { self.choose_node(&lines, last) }
    }

    pub(in crate::signal) fn least(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x <= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.num_node(Num::Min(a.min(b), a.max(b))),
        }
    }

    pub(in crate::signal) fn greatest(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x >= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.num_node(Num::Max(a.min(b), a.max(b))),
        }
    }
}
