//! Exact ends of values that are linear in one piece, for limits that floating point can't tell from them.

use super::eval::Eval;
use super::fix::Fix;
use super::net::{Num, NumId};
use super::region::{Cell, Tri};

/// The exact ends of a value.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) struct Ends {
    pub(super) low: Fix,
    pub(super) high: Fix,
    pub(super) low_open: bool,
    pub(super) high_open: bool,
}

impl Ends {
    const fn point(value: Fix) -> Self {
        Self { low: value, high: value, low_open: false, high_open: false }
    }
}

impl Eval<'_> {
    /// The exact value of a node that has only one, where it can be kept.
    pub(super) fn exact_point(&mut self, scene: u8, id: NumId) -> Option<Fix> {
        let ends = self.exact(scene, id)?;
        (ends.low == ends.high).then_some(ends.low)
    }

    /// The exact ends of a node over the box; `None` where it bends or does not fit.
    pub(super) fn exact(&mut self, scene: u8, id: NumId) -> Option<Ends> {
        let net = self.net;
        Some(match net.num(id) {
            Num::Const(value) => Ends::point(value),
            Num::Var(var) => match self.cell(scene, var) {
                Cell::Range { low, high, low_open, high_open } => Ends { low, high, low_open, high_open },
                Cell::Mask(mask) => {
                    let (low, high) = self.position_ends(var, mask);
                    Ends { low, high, low_open: false, high_open: false }
                }
            },
            Num::Lin { constant, terms } => {
                let mut sum = Ends::point(constant);
                for &(by, term) in net.terms(terms) {
                    let ends = self.exact(scene, term)?;
                    let (a, b) = (ends.low.mul(by)?, ends.high.mul(by)?);
                    let turned = by.is_negative();
                    let (low, high) = if turned { (b, a) } else { (a, b) };
                    let (low_open, high_open) =
                        if turned { (ends.high_open, ends.low_open) } else { (ends.low_open, ends.high_open) };
                    sum = Ends {
                        low: sum.low.add(low)?,
                        high: sum.high.add(high)?,
                        low_open: sum.low_open || low_open,
                        high_open: sum.high_open || high_open,
                    };
                }
                sum
            }
            Num::Min(a, b) => {
                let (a, b) = (self.exact(scene, a)?, self.exact(scene, b)?);
                least(a, b)
            }
            Num::Max(a, b) => {
                let turn = |ends: Ends| Ends {
                    low: ends.high.negate(),
                    high: ends.low.negate(),
                    low_open: ends.high_open,
                    high_open: ends.low_open,
                };
                let (a, b) = (self.exact(scene, a)?, self.exact(scene, b)?);
                turn(least(turn(a), turn(b)))
            }
            Num::Choose { lines, otherwise } => {
                for &(when, value) in net.lines(lines) {
                    match self.bit(scene, when) {
                        Tri::False => {}
                        Tri::True => return self.exact(scene, value),
                        Tri::Maybe(_) => return None,
                    }
                }
                return self.exact(scene, otherwise);
            }
            Num::Mul(a, b) => Ends::point(self.exact_point(scene, a)?.mul(self.exact_point(scene, b)?)?),
            Num::Square(of) => {
                let value = self.exact_point(scene, of)?;
                Ends::point(value.mul(value)?)
            }
            Num::Expo { of, k } => {
                let ends = self.exact(scene, of)?;
                // Rising, so that its ends are those of its argument.
                let at = |x: Fix| {
                    let cube = x.mul(x)?.mul(x)?.mul(k)?.div(Fix::whole(10_000))?;
                    cube.add(x.mul(Fix::HUNDRED.sub(k)?)?)?.div(Fix::HUNDRED)
                };
                Ends { low: at(ends.low)?, high: at(ends.high)?, ..ends }
            }
            Num::Curve { curve, of } => {
                let ends = self.exact(scene, of)?;
                let shape = &self.program.shapes[usize::from(curve)];
                let at = |x: Fix| shape.small_at(x);
                let (a, b) = (at(ends.low)?, at(ends.high)?);
                match shape.direction(ends.low, ends.high)? {
                    std::cmp::Ordering::Equal => Ends::point(a),
                    std::cmp::Ordering::Less => Ends { low: a, high: b, ..ends },
                    std::cmp::Ordering::Greater => {
                        Ends { low: b, high: a, low_open: ends.high_open, high_open: ends.low_open }
                    }
                }
            }
        })
    }
}

fn least(a: Ends, b: Ends) -> Ends {
    let open = |x: Fix, y: Fix, x_open: bool, y_open: bool, both: bool| match x.cmp(&y) {
        std::cmp::Ordering::Less => x_open,
        std::cmp::Ordering::Greater => y_open,
        std::cmp::Ordering::Equal if both => x_open && y_open,
        std::cmp::Ordering::Equal => x_open || y_open,
    };
    Ends {
        low: a.low.min(b.low),
        high: a.high.min(b.high),
        low_open: open(a.low, b.low, a.low_open, b.low_open, true),
        high_open: open(a.high, b.high, a.high_open, b.high_open, false),
    }
}
