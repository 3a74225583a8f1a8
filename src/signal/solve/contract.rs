//! What has to hold of a value, told to what it is made of: the stretches of axes shrink to where the value can still come out
//! as demanded, before any of them is cut. It is the way up and down an expression of Benhamou, Goualard, Granvilliers &
//! Puget, "Revising hull and box consistency" (ICLP 1999).

use crate::signal::number::interval::Interval;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::switch_value;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{Bit, Num, NumId, VarId};
use crate::signal::solve::domains::Tri;
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::propagate::{Impossible, Narrowed};
use crate::signal::solve::thresholds::expo;

/// A stretch shrinks where at least one part of so many goes; less is not worth looking at everything again.
const PARTS: f64 = 16.0;

/// How often the end of an argument is moved in, so that a bent value meets what is demanded.
const SHAVES: u32 = 5;

impl Eval<'_> {
    /// Shrinks what the comparisons hang on that have to come out as demanded.
    pub(in crate::signal) fn contract_to_demands(&mut self) -> Narrowed {
        let mut changed = false;
        for at in 0..self.domains.demands.len() {
            let (scene, bit, over) = self.domains.demands[at];
            if let Bit::Over { num, limit, .. } = self.dag.bit(bit) {
                let wanted = if over {
                    Interval { low: limit.below(), ..Interval::ALL }
                } else {
                    Interval { high: limit.above(), ..Interval::ALL }
                };
                changed |= self.contract(scene, num, wanted)?;
            }
        }
        Ok(changed)
    }

    /// Leaves out positions in which a value is not among those wanted; none of them is left out that it could have.
    fn contract(&mut self, scene: u8, id: NumId, wanted: Interval) -> Narrowed {
        let now = self.num(scene, id).ends;
        let wanted = Interval { low: wanted.low.max(now.low), high: wanted.high.min(now.high) };
        if wanted.low > wanted.high {
            return Err(Impossible);
        }
        if wanted == now || now == Interval::ALL || !self.domains.work(1) {
            return Ok(false);
        }
        let dag = self.dag;
        match dag.num(id) {
            Num::Const(_) | Num::Unknown(_) => Ok(false),
            Num::Var(var) => self.contract_var(scene, var, wanted),
            Num::Lin { constant, terms } => {
                let terms = dag.terms(terms);
                // What all the terms after each come to, then what those before it do.
                let mut after = vec![Interval::point(0.0)];
                for &(by, term) in terms.iter().skip(1).rev() {
                    let sum = after[after.len() - 1];
                    after.push(sum.add(self.num(scene, term).ends.scale(by)));
                }
                let (mut before, mut changed) = (Interval::of(constant), false);
                for &(by, term) in terms {
                    let rest = before.add(after.pop().unwrap_or(Interval::ALL));
                    if let Some(inverse) = Rational64::ONE.div(by) {
                        changed |= self.contract(scene, term, wanted.sub(rest).scale(inverse))?;
                    }
                    before = before.add(self.num(scene, term).ends.scale(by));
                }
                Ok(changed)
            }
            Num::Mul(a, b) => {
                let one = self.contract_factor(scene, a, b, wanted)?;
                Ok(self.contract_factor(scene, b, a, wanted)? || one)
            }
            Num::Square(of) => {
                let far = wanted.high.max(0.0).sqrt().next_up();
                let near = wanted.low.max(0.0).sqrt().next_down();
                let x = away(self.num(scene, of).ends, near);
                self.contract(scene, of, Interval { low: x.low.max(-far), high: x.high.min(far) })
            }
            Num::Min(a, b) => {
                let (x, y) = (self.num(scene, a).ends, self.num(scene, b).ends);
                // The one that can be the lesser has to be under the upper end where the other one can't.
                let high = |other: Interval| if other.low > wanted.high { wanted.high } else { f64::INFINITY };
                let one = self.contract(scene, a, Interval { low: wanted.low, high: high(y) })?;
                Ok(self.contract(scene, b, Interval { low: wanted.low, high: high(x) })? || one)
            }
            Num::Max(a, b) => {
                let (x, y) = (self.num(scene, a).ends, self.num(scene, b).ends);
                let low = |other: Interval| if other.high < wanted.low { wanted.low } else { f64::NEG_INFINITY };
                let one = self.contract(scene, a, Interval { low: low(y), high: wanted.high })?;
                Ok(self.contract(scene, b, Interval { low: low(x), high: wanted.high })? || one)
            }
            // It never falls.
            Num::Expo { of, k } => self.shave(scene, of, wanted, &|x| {
                let at = |x: f64| expo(Interval::point(x), k);
                Interval { low: at(x.low).low, high: at(x.high).high }
            }),
            Num::Curve { curve, of } => {
                let shape = &self.program.shapes[usize::from(curve)];
                self.shave(scene, of, wanted, &|x| shape.enclose(x))
            }
            Num::Choose { lines, otherwise } => {
                let mut changed = false;
                let lines = dag.lines(lines);
                for (at, &(when, value)) in lines.iter().enumerate() {
                    match self.bit(scene, when) {
                        Tri::False => continue,
                        Tri::True => return Ok(self.contract(scene, value, wanted)? || changed),
                        Tri::Maybe(_) => {}
                    }
                    // The first line that may hold: where its value is none that is wanted it does not, and where no other
                    // line's is, it does.
                    if !self.meets_wanted(scene, value, wanted) {
                        changed |= self.require(scene, when, false)?;
                        if self.bit(scene, when) == Tri::False {
                            continue;
                        }
                        return Ok(changed);
                    }
                    let rest = lines[at + 1..].iter().map(|&(_, value)| value).chain([otherwise]);
                    for other in rest {
                        if self.meets_wanted(scene, other, wanted) {
                            return Ok(changed);
                        }
                    }
                    changed |= self.require(scene, when, true)?;
                    return Ok(self.contract(scene, value, wanted)? || changed);
                }
                Ok(self.contract(scene, otherwise, wanted)? || changed)
            }
        }
    }

    fn meets_wanted(&mut self, scene: u8, id: NumId, wanted: Interval) -> bool {
        let now = self.num(scene, id).ends;
        now.low <= wanted.high && now.high >= wanted.low
    }

    /// Where a factor has to lie so that its product with another does.
    fn contract_factor(&mut self, scene: u8, of: NumId, other: NumId, wanted: Interval) -> Narrowed {
        let (x, y) = (self.num(scene, of).ends, self.num(scene, other).ends);
        let least = if wanted.low > 0.0 {
            wanted.low
        } else if wanted.high < 0.0 {
            -wanted.high
        } else {
            0.0
        };
        let found = if y.low > 0.0 {
            over(wanted, y)
        } else if y.high < 0.0 {
            over(wanted.negate(), y.negate())
        } else if least > 0.0 {
            // The product is not 0: the factor is at least so far from it, on the side where it can be.
            away(x, (least / y.low.abs().max(y.high.abs())).next_down())
        } else {
            return Ok(false);
        };
        self.contract(scene, of, found)
    }

    /// Moves the ends of an argument in as long as what is left out has no value that is wanted.
    fn shave(&mut self, scene: u8, of: NumId, wanted: Interval, value: &dyn Fn(Interval) -> Interval) -> Narrowed {
        let x = self.num(scene, of).ends;
        let misses = |part: Interval| {
            let value = value(part);
            value.low > wanted.high || value.high < wanted.low
        };
        let (mut low, mut high) = (x.low, x.high);
        let mut step = x.width() / 2.0;
        for _ in 0..SHAVES {
            let at = low + step;
            if misses(Interval { low, high: at }) {
                low = at;
            }
            let at = high - step;
            if at > low && misses(Interval { low: at, high }) {
                high = at;
            }
            step /= 2.0;
        }
        self.contract(scene, of, Interval { low, high })
    }

    fn contract_var(&mut self, scene: u8, var: VarId, wanted: Interval) -> Narrowed {
        match self.cell(scene, var) {
            Cell::Mask(mask) => {
                let count = self.positions_of(var);
                let is_wanted = |at: &u8| {
                    let value = Interval::of(switch_value(*at, usize::from(count)));
                    value.low <= wanted.high && value.high >= wanted.low
                };
                let wanted = (0..count).filter(is_wanted).fold(0, |mask, at| mask | 1 << at);
                if mask & wanted == 0 {
                    return Err(Impossible);
                }
                self.keep(scene, var, wanted)
            }
            Cell::Range { low, high, low_open, high_open } => {
                let width = high.near() - low.near();
                // Round ends, outside of the exact ones: they may become the positions of an example.
                let grain = (width / PARTS).log2().floor().clamp(-20.0, 0.0).exp2();
                let inwards = |from: Rational64, at: f64| ((at - from.near()).abs() * PARTS > width).then_some(at);
                let new_low = inwards(low, (wanted.low / grain).floor() * grain).and_then(Rational64::dyadic);
                let new_high = inwards(high, (wanted.high / grain).ceil() * grain).and_then(Rational64::dyadic);
                let (new_low, new_high) = (new_low.filter(|at| *at > low), new_high.filter(|at| *at < high));
                if new_low.is_none() && new_high.is_none() {
                    return Ok(false);
                }
                let is_open = low_open && new_low.is_none() || high_open && new_high.is_none();
                if is_open && new_low.unwrap_or(low) >= new_high.unwrap_or(high) {
                    return Err(Impossible);
                }
                let part = Cell::Range {
                    low: new_low.unwrap_or(low),
                    high: new_high.unwrap_or(high),
                    low_open: low_open && new_low.is_none(),
                    high_open: high_open && new_high.is_none(),
                };
                self.leave(scene, var, part);
                Ok(true)
            }
        }
    }
}

/// Divided by what is greater than 0.
fn over(wanted: Interval, by: Interval) -> Interval {
    let (least, most) = (by.low, by.high);
    let low = wanted.div(if wanted.low > 0.0 { most } else { least }).low;
    let high = wanted.div(if wanted.high > 0.0 { least } else { most }).high;
    Interval { low, high }
}

/// What is left of an interval whose numbers are at least so far from 0.
const fn away(x: Interval, least: f64) -> Interval {
    let low = if x.low > -least { x.low.max(least) } else { x.low };
    let high = if x.high < least { x.high.min(-least) } else { x.high };
    Interval { low, high }
}
