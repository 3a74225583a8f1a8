//! Exact ends of values that are linear in one piece, for limits that floating point can't tell from them.

use crate::signal::number::rational64::Rational64;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{Num, NumId};
use crate::signal::solve::domains::Tri;
use crate::signal::solve::evaluate::Eval;

/// The exact ends of a value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) struct ExactBounds {
    pub(in crate::signal) low: Rational64,
    pub(in crate::signal) high: Rational64,
    pub(in crate::signal) low_open: bool,
    pub(in crate::signal) high_open: bool,
}

impl ExactBounds {
    const fn point(value: Rational64) -> Self {
        Self { low: value, high: value, low_open: false, high_open: false }
    }
}

impl Eval<'_> {
    /// The exact value of a node that has only one, where it can be kept.
    pub(in crate::signal) fn exact_point(&mut self, scene: u8, id: NumId) -> Option<Rational64> {
        let ends = self.exact_bounds(scene, id)?;
        (ends.low == ends.high).then_some(ends.low)
    }

    /// The exact ends of a node over the box; `None` where it bends or does not fit.
    pub(in crate::signal) fn exact_bounds(&mut self, scene: u8, id: NumId) -> Option<ExactBounds> {
        let dag = self.dag;
        // Values that stand in one another many times over are gone through each time anew.
        if !self.domains.work(1) {
            return None;
        }
        Some(match dag.num(id) {
            Num::Const(value) => ExactBounds::point(value),
            Num::Unknown(_) => return None,
            Num::Var(var) => match self.cell(scene, var) {
                Cell::Range { low, high, low_open, high_open } => ExactBounds { low, high, low_open, high_open },
                Cell::Mask(mask) => {
                    let (low, high) = self.position_ends(var, mask);
                    ExactBounds { low, high, low_open: false, high_open: false }
                }
            },
            Num::Lin { constant, terms } => {
                let mut sum = ExactBounds::point(constant);
                for &(by, term) in dag.terms(terms) {
                    let ends = self.exact_bounds(scene, term)?;
                    let (a, b) = (ends.low.mul(by)?, ends.high.mul(by)?);
                    let turned = by.is_negative();
                    let (low, high) = if turned { (b, a) } else { (a, b) };
                    let (low_open, high_open) =
                        if turned { (ends.high_open, ends.low_open) } else { (ends.low_open, ends.high_open) };
                    sum = ExactBounds {
                        low: sum.low.add(low)?,
                        high: sum.high.add(high)?,
                        low_open: sum.low_open || low_open,
                        high_open: sum.high_open || high_open,
                    };
                }
                sum
            }
            Num::Min(a, b) => {
                let (a, b) = (self.exact_bounds(scene, a)?, self.exact_bounds(scene, b)?);
                least(a, b)
            }
            Num::Max(a, b) => {
                let turn = |ends: ExactBounds| ExactBounds {
                    low: ends.high.negate(),
                    high: ends.low.negate(),
                    low_open: ends.high_open,
                    high_open: ends.low_open,
                };
                let (a, b) = (self.exact_bounds(scene, a)?, self.exact_bounds(scene, b)?);
                turn(least(turn(a), turn(b)))
            }
            Num::Choose { lines, otherwise } => {
                for &(when, value) in dag.lines(lines) {
                    match self.bit(scene, when) {
                        Tri::False => {}
                        Tri::True => return self.exact_bounds(scene, value),
                        Tri::Maybe(_) => return None,
                    }
                }
                return self.exact_bounds(scene, otherwise);
            }
            Num::Mul(a, b) => ExactBounds::point(self.exact_point(scene, a)?.mul(self.exact_point(scene, b)?)?),
            Num::Square(of) => {
                let value = self.exact_point(scene, of)?;
                ExactBounds::point(value.mul(value)?)
            }
            Num::Expo { of, k } => {
                let ends = self.exact_bounds(scene, of)?;
                // Rising, so that its ends are those of its argument.
                let at = |x: Rational64| {
                    let cube = x.mul(x)?.mul(x)?.mul(k)?.div(Rational64::whole(10_000))?;
                    cube.add(x.mul(Rational64::HUNDRED.sub(k)?)?)?.div(Rational64::HUNDRED)
                };
                ExactBounds { low: at(ends.low)?, high: at(ends.high)?, ..ends }
            }
            Num::Curve { curve, of } => {
                let ends = self.exact_bounds(scene, of)?;
                let shape = &self.program.shapes[usize::from(curve)];
                let at = |x: Rational64| shape.small_at(x);
                let (a, b) = (at(ends.low)?, at(ends.high)?);
                match shape.direction(ends.low, ends.high)? {
                    std::cmp::Ordering::Equal => ExactBounds::point(a),
                    std::cmp::Ordering::Less => ExactBounds { low: a, high: b, ..ends },
                    std::cmp::Ordering::Greater => {
                        ExactBounds { low: b, high: a, low_open: ends.high_open, high_open: ends.low_open }
                    }
                }
            }
        })
    }
}

fn least(a: ExactBounds, b: ExactBounds) -> ExactBounds {
    let open = |x: Rational64, y: Rational64, x_open: bool, y_open: bool, both: bool| match x.cmp(&y) {
        std::cmp::Ordering::Less => x_open,
        std::cmp::Ordering::Greater => y_open,
        std::cmp::Ordering::Equal if both => x_open && y_open,
        std::cmp::Ordering::Equal => x_open || y_open,
    };
    ExactBounds {
        low: a.low.min(b.low),
        high: a.high.min(b.high),
        low_open: open(a.low, b.low, a.low_open, b.low_open, true),
        high_open: open(a.high, b.high, a.high_open, b.high_open, false),
    }
}
