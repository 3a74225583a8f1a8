//! Where to cut the region, so that a value is known better.

use super::eval::Eval;
use super::fix::Fix;
use super::net::{Num, NumId, VarId};
use super::region::{Cell, Hint, Tri};

/// A value is not told apart from a limit that is closer than this: microseconds before the link, or percent.
const CLOSE: f64 = 0.02;

/// What to settle next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Cut {
    /// Nothing helps: the value is known as closely as it gets.
    Nothing,
    /// A condition that chooses between lines.
    Condition(Hint),
    /// Each position of a switch on its own.
    Each(u8, VarId),
    /// On which side of a value an axis stands, or exactly there.
    At(u8, VarId, Fix),
    /// In which half of its stretch an axis stands.
    Halve(u8, VarId),
}

impl Eval<'_> {
    /// What to settle so that a value is known better, with regard to a limit if there is one.
    pub(super) fn cut(&mut self, scene: u8, id: NumId, limit: Option<Fix>) -> Cut {
        let net = self.net;
        match net.num(id) {
            Num::Const(_) => Cut::Nothing,
            Num::Var(var) => self.cut_var(scene, var, limit),
            Num::Lin { constant, terms } => {
                let (mut rest, mut free) = (Some(constant), Vec::new());
                for &(by, term) in net.terms(terms) {
                    match self.exact_point(scene, term) {
                        Some(value) => rest = rest.and_then(|sum| sum.add(value.mul(by)?)),
                        None => free.push((by, term)),
                    }
                }
                if let [(by, term)] = free.as_slice() {
                    let inner = limit.zip(rest).and_then(|(limit, rest)| limit.sub(rest)?.div(*by));
                    return self.cut(scene, *term, inner);
                }
                self.widest(scene, free.into_iter().map(|(by, term)| (by.near().abs(), term)))
            }
            Num::Min(a, b) | Num::Max(a, b) => {
                let both = [(1.0, a), (1.0, b)];
                if self.exact_point(scene, a).is_some() {
                    return self.cut(scene, b, limit);
                }
                if self.exact_point(scene, b).is_some() {
                    return self.cut(scene, a, limit);
                }
                let mut decided = |id| limit.is_some_and(|limit| self.num(scene, id).over(true, limit).is_some());
                match (decided(a), decided(b)) {
                    (true, _) => self.cut(scene, b, limit),
                    (_, true) => self.cut(scene, a, limit),
                    _ => self.widest(scene, both.into_iter()),
                }
            }
            Num::Mul(a, b) => {
                let (wide_a, wide_b) = (self.num(scene, a).width(), self.num(scene, b).width());
                if wide_a.max(wide_b) < 1e-6 {
                    return Cut::Nothing;
                }
                self.widest(scene, [(1.0, a), (1.0, b)].into_iter())
            }
            Num::Square(of) | Num::Expo { of, .. } => self.bent(scene, id, of),
            Num::Curve { curve, of } => {
                let x = self.num(scene, of).ends;
                match self.program.shapes[usize::from(curve)].turn(x, limit) {
                    Some(at) => self.cut(scene, of, Some(at)),
                    None => self.bent(scene, id, of),
                }
            }
            Num::Choose { lines, otherwise } => {
                for &(when, value) in net.lines(lines) {
                    match self.bit(scene, when) {
                        Tri::Maybe(hint) if hint.leads_on() => return Cut::Condition(hint),
                        Tri::Maybe(_) => return Cut::Nothing,
                        Tri::True => return self.cut(scene, value, limit),
                        Tri::False => {}
                    }
                }
                self.cut(scene, otherwise, limit)
            }
        }
    }

    fn cut_var(&self, scene: u8, var: VarId, limit: Option<Fix>) -> Cut {
        match (self.cell(scene, var), limit) {
            (Cell::Mask(mask), _) if mask.count_ones() > 1 => Cut::Each(scene, var),
            (Cell::Range { low, high, .. }, Some(at)) if low < at && at < high => Cut::At(scene, var, at),
            (Cell::Range { low, high, low_open, high_open }, _) if low != high => {
                // Only an end is in question: it is split off, or the stretch is halved.
                match limit {
                    Some(at) if at == low && !low_open || at == high && !high_open => Cut::At(scene, var, at),
                    _ if high.near() - low.near() > 2e-6 => Cut::Halve(scene, var),
                    _ => Cut::Nothing,
                }
            }
            _ => Cut::Nothing,
        }
    }

    /// A value that bends: its argument is halved until the value is known closely enough.
    fn bent(&mut self, scene: u8, id: NumId, of: NumId) -> Cut {
        if self.num(scene, id).width() < CLOSE / 8.0 { Cut::Nothing } else { self.cut(scene, of, None) }
    }

    /// The cut of the part that leaves most open; one that settles a switch goes first.
    fn widest(&mut self, scene: u8, parts: impl Iterator<Item = (f64, NumId)>) -> Cut {
        let mut best: Option<(f64, Cut)> = None;
        for (by, part) in parts {
            let width = by * self.num(scene, part).width();
            let cut = self.cut(scene, part, None);
            match cut {
                Cut::Nothing => continue,
                Cut::Halve(..) | Cut::At(..) if width < CLOSE / 8.0 => continue,
                Cut::Halve(..) | Cut::At(..) => {}
                Cut::Condition(_) | Cut::Each(..) => return cut,
            }
            if best.is_none_or(|(known, _)| width > known) {
                best = Some((width, cut));
            }
        }
        best.map_or(Cut::Nothing, |(_, cut)| cut)
    }
}
