//! Positions worth trying where sums or products of several variables are compared with limits: the corner of the region
//! that lies furthest on the side that is demanded. Most of the time the answer stands there, and nothing has to be cut.

use crate::signal::number::interval::Interval;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::state::Handle;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{Bit, Num, NumId, VarId};
use crate::signal::solve::domains::Tri;
use crate::signal::solve::evaluate::Eval;

/// How many comparisons a place is chosen by.
const MOST_DEMANDS: usize = 16;

impl Eval<'_> {
    /// Whether `goal` holds where what is demanded is furthest from its limit: with trims at rest, else with all moved.
    /// The region stays at that place if it does.
    pub(in crate::signal) fn probe(&mut self, goal: &mut dyn FnMut(&mut Self) -> bool) -> bool {
        let demands = std::mem::take(&mut self.domains.demands);
        let mut found = false;
        for trims in [false, true] {
            let trail = self.domains.trail.len();
            for &(scene, bit, want) in demands.iter().take(MOST_DEMANDS) {
                if let Bit::Over { num, .. } = self.dag.bit(bit) {
                    self.push(scene, num, want, trims);
                }
            }
            found = goal(self);
            if found {
                break;
            }
            self.backtrack(trail);
        }
        self.domains.demands = demands;
        found
    }

    /// Moves the variables of a value to where it is greatest, or least, as far as that can be told from afar.
    pub(in crate::signal) fn push(&mut self, scene: u8, id: NumId, up: bool, trims: bool) {
        let dag = self.dag;
        if !self.domains.work(1) {
            return;
        }
        match dag.num(id) {
            Num::Const(_) | Num::Unknown(_) => {}
            Num::Var(var) => self.push_var(scene, var, up, trims),
            Num::Lin { terms, .. } => {
                for &(by, term) in dag.terms(terms) {
                    self.push(scene, term, up != by.is_negative(), trims);
                }
            }
            Num::Min(a, b) | Num::Max(a, b) => {
                self.push(scene, a, up, trims);
                self.push(scene, b, up, trims);
            }
            Num::Mul(a, b) => {
                let (x, y) = (self.num(scene, a).ends, self.num(scene, b).ends);
                self.push(scene, a, up == (y.low + y.high >= 0.0), trims);
                self.push(scene, b, up == (x.low + x.high >= 0.0), trims);
            }
            Num::Square(of) => {
                let x = self.num(scene, of).ends;
                self.push(scene, of, up == (x.low + x.high >= 0.0), trims);
            }
            Num::Expo { of, .. } => self.push(scene, of, up, trims),
            Num::Curve { curve, of } => {
                let x = self.num(scene, of).ends;
                let at = |x| self.program.shapes[usize::from(curve)].enclose(Interval::point(x)).low;
                let rising = at(x.low) <= at(x.high);
                self.push(scene, of, up == rising, trims);
            }
            Num::Choose { lines, otherwise } => {
                for &(when, value) in dag.lines(lines) {
                    match self.bit(scene, when) {
                        Tri::False => {}
                        Tri::True => return self.push(scene, value, up, trims),
                        Tri::Maybe(_) => return,
                    }
                }
                self.push(scene, otherwise, up, trims);
            }
        }
    }

    fn push_var(&mut self, scene: u8, var: VarId, up: bool, trims: bool) {
        match self.cell(scene, var) {
            Cell::Mask(mask) => {
                let end = if up { 1 << (63 - mask.leading_zeros()) } else { mask & mask.wrapping_neg() };
                self.leave(scene, var, Cell::Mask(end));
            }
            Cell::Range { low, high, low_open, high_open } => {
                let (handle, _) = self.dag.vars[usize::from(var)];
                let inside =
                    |at: Rational64| (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
                let stays = !trims && matches!(handle, Handle::Trim(_)) && inside(Rational64::ZERO);
                let end = if up { high } else { low };
                // An end that is left out is come close to.
                let close = || {
                    let steps = 1_048_576.0;
                    let near = end.near() + (low.near() - end.near() + high.near() - end.near()) / 1024.0;
                    let short = Rational64::new((near * 1000.0).round() as i64, 1000);
                    short.filter(|&at| inside(at)).or_else(|| Rational64::dyadic((near * steps).round() / steps))
                };
                let at =
                    if stays { Some(Rational64::ZERO) } else { Some(end).filter(|&end| inside(end)).or_else(close) };
                if let Some(at) = at.filter(|&at| inside(at)) {
                    self.leave(scene, var, Cell::range(at, at));
                }
            }
        }
    }
}
