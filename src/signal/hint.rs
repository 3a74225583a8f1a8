//! What to settle next, so that a value is known better.

use super::eval::Eval;
use super::fix::Fix;
use super::net::{Num, NumId};
use super::region::{Cell, Hint, Tri};

/// A value is not told apart from a limit that is closer than this: microseconds before the link, or percent.
const CLOSE: f64 = 0.02;

impl Eval<'_> {
    /// What to settle so that a value is known better with regard to a limit.
    pub(super) fn hint(&mut self, scene: u8, id: NumId, limit: Option<Fix>) -> Hint {
        let net = self.net;
        match net.num(id) {
            Num::Const(_) => Hint::Close,
            Num::Var(var) => match (self.cell(scene, *var), limit) {
                (Cell::Mask(mask), _) if mask.count_ones() > 1 => Hint::Switch(scene, *var),
                (Cell::Range { low, high, .. }, Some(at)) if low < at && at < high => Hint::Axis(scene, *var, at),
                (Cell::Range { low, high, low_open, high_open }, _) if low != high => {
                    // Only an end is in question: it is split off, or the stretch is halved.
                    match limit {
                        Some(at) if at == low && !low_open || at == high && !high_open => Hint::Axis(scene, *var, at),
                        _ if high.near() - low.near() > 1e-6 => Hint::Halve(scene, *var),
                        _ => Hint::Close,
                    }
                }
                _ => Hint::Close,
            },
            Num::Lin { constant, terms } => {
                let (mut rest, mut free) = (Some(*constant), Vec::new());
                for &(by, term) in terms {
                    match self.exact_point(scene, term) {
                        Some(value) => rest = rest.and_then(|sum| sum.add(value.mul(by)?)),
                        None => free.push((by, term)),
                    }
                }
                if let [(by, term)] = free.as_slice() {
                    let inner = limit.zip(rest).and_then(|(limit, rest)| limit.sub(rest)?.div(*by));
                    return self.hint(scene, *term, inner);
                }
                self.widest(scene, free.into_iter().map(|(by, term)| (by.near().abs(), term)).collect())
            }
            Num::Min(a, b) | Num::Max(a, b) => {
                let (first, second) = (self.exact_point(scene, *a), self.exact_point(scene, *b));
                match (first, second) {
                    (Some(_), _) => self.hint(scene, *b, limit),
                    (_, Some(_)) => self.hint(scene, *a, limit),
                    _ => {
                        let decided = |eval: &mut Self, id| {
                            limit.is_some_and(|limit| eval.num(scene, id).over(true, limit).is_some())
                        };
                        if decided(self, *a) {
                            self.hint(scene, *b, limit)
                        } else if decided(self, *b) {
                            self.hint(scene, *a, limit)
                        } else {
                            self.widest(scene, vec![(1.0, *a), (1.0, *b)])
                        }
                    }
                }
            }
            Num::Mul(a, b) => {
                let (wide_a, wide_b) = (self.num(scene, *a).width(), self.num(scene, *b).width());
                if wide_a.max(wide_b) < 1e-6 {
                    return Hint::Close;
                }
                self.widest(scene, vec![(1.0, *a), (1.0, *b)])
            }
            Num::Square(of) => self.curved(scene, id, *of, None),
            Num::Expo { of, .. } => self.curved(scene, id, *of, None),
            Num::Curve { curve, of } => {
                let x = self.num(scene, *of).ends;
                let shape = &self.program.shapes[usize::from(*curve)];
                match shape.turn(x, limit) {
                    Some(at) => self.hint(scene, *of, Some(at)),
                    None => self.curved(scene, id, *of, None),
                }
            }
            Num::Choose { lines, otherwise } => {
                for &(when, value) in lines {
                    match self.bit(scene, when) {
                        Tri::Maybe(hint) => return hint,
                        Tri::True => return self.hint(scene, value, limit),
                        Tri::False => {}
                    }
                }
                self.hint(scene, *otherwise, limit)
            }
        }
    }

    /// A value that bends: its argument is halved until the value is known closely enough.
    fn curved(&mut self, scene: u8, id: NumId, of: NumId, limit: Option<Fix>) -> Hint {
        if self.num(scene, id).width() < CLOSE / 8.0 { Hint::Close } else { self.hint(scene, of, limit) }
    }

    /// The hint of the part that leaves most open; one that settles a switch goes first.
    fn widest(&mut self, scene: u8, parts: Vec<(f64, NumId)>) -> Hint {
        let mut best: Option<(f64, Hint)> = None;
        for (by, part) in parts {
            let width = by * self.num(scene, part).width();
            let hint = self.hint(scene, part, None);
            match hint {
                Hint::Close | Hint::NotKnown(_) => continue,
                Hint::Halve(..) | Hint::Axis(..) if width < CLOSE / 8.0 => continue,
                Hint::Halve(..) | Hint::Axis(..) => {}
                _ => return hint,
            }
            if best.is_none_or(|(known, _)| width > known) {
                best = Some((width, hint));
            }
        }
        best.map_or(Hint::Close, |(_, hint)| hint)
    }
}
