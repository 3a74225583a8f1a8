//! What a condition or value hangs on: the cone of influence.

use super::net::{Bit, BitId, Net, Num, NumId, VarId};

/// The variables, latches and tests that something hangs on, also through latches.
#[derive(Clone, Debug, Default)]
pub(super) struct Cone {
    pub(super) vars: Vec<VarId>,
    pub(super) latches: u64,
    pub(super) tests: u64,
    /// A `held` condition is among it.
    pub(super) held: bool,
    bits: Vec<bool>,
    nums: Vec<bool>,
}

impl Cone {
    /// The cone of some conditions and values.
    pub(super) fn of(net: &Net, bits: &[BitId], nums: &[NumId]) -> Self {
        let mut cone = Self { bits: vec![false; net.bits.len()], nums: vec![false; net.nums.len()], ..Self::default() };
        bits.iter().for_each(|&bit| cone.bit(net, bit));
        nums.iter().for_each(|&num| cone.num(net, num));
        cone
    }

    fn var(&mut self, var: VarId) {
        if !self.vars.contains(&var) {
            self.vars.push(var);
        }
    }

    fn bit(&mut self, net: &Net, id: BitId) {
        if std::mem::replace(&mut self.bits[id as usize], true) {
            return;
        }
        match net.bit(id) {
            Bit::Const(_) | Bit::NotKnown(_) => {}
            Bit::In(var, _) => self.var(*var),
            Bit::Over { num, .. } => self.num(net, *num),
            Bit::Not(of) => self.bit(net, *of),
            Bit::All(parts) | Bit::Any(parts) => parts.iter().for_each(|&part| self.bit(net, part)),
            Bit::Became(test) => {
                self.tests |= 1 << test;
                self.bit(net, net.tests[usize::from(*test)]);
            }
            Bit::Held { of, .. } => {
                self.held = true;
                self.bit(net, *of);
            }
            Bit::Latch(latch) => {
                self.latches |= 1 << latch;
                let (set, reset) = net.latches[usize::from(*latch)];
                self.bit(net, set);
                self.bit(net, reset);
            }
        }
    }

    fn num(&mut self, net: &Net, id: NumId) {
        if std::mem::replace(&mut self.nums[id as usize], true) {
            return;
        }
        match net.num(id) {
            Num::Const(_) => {}
            Num::Var(var) => self.var(*var),
            Num::Lin { terms, .. } => terms.iter().for_each(|&(_, term)| self.num(net, term)),
            Num::Mul(a, b) | Num::Min(a, b) | Num::Max(a, b) => {
                self.num(net, *a);
                self.num(net, *b);
            }
            Num::Square(of) | Num::Curve { of, .. } | Num::Expo { of, .. } => self.num(net, *of),
            Num::Choose { lines, otherwise } => {
                for &(when, value) in lines {
                    self.bit(net, when);
                    self.num(net, value);
                }
                self.num(net, *otherwise);
            }
        }
    }
}
