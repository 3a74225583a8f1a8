//! Branch and prune: a region is cut where something is not decided, until it is; and where to cut it, so that a value is
//! known better.

use crate::signal::number::rational64::Rational64;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{Bit, Num, NumId, VarId};
use crate::signal::solve::domains::{Hint, Tri};
use crate::signal::solve::evaluate::Eval;

/// Cuts the region by a hint and does `next` with each part, in an order that comes to low and first positions first. What
/// was cut is whole again afterwards, unless `next` ends the search: then the region stays as it was found. Hints that lead
/// nowhere do nothing.
pub(in crate::signal) fn branch<E>(
    eval: &mut Eval<'_>,
    hint: Hint,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    match hint {
        Hint::Close(..) | Hint::NotKnown(_) => Ok(()),
        Hint::Atom(scene, bit) => match eval.dag.bit(bit) {
            Bit::In(var, mask) => positions(eval, scene, var, mask, next),
            Bit::Above { var, strict, limit } => {
                let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
                let parts = [
                    Cell::Range { low, high: limit, low_open, high_open: !strict },
                    Cell::Range { low: limit, high, low_open: strict, high_open },
                ];
                each(eval, scene, var, parts, next)
            }
            Bit::Over { num, limit, .. } => match eval.cut(scene, num, Some(limit)) {
                Cut::Nothing => {
                    edges(eval, scene, num, next)?;
                    // From here on only what else is open can be decided.
                    let vars = eval.dag.sort(num).cone.vars;
                    eval.domains.stuck.push((scene, bit));
                    eval.domains.changed(vars);
                    next(eval)?;
                    eval.domains.stuck.pop();
                    eval.domains.changed(vars);
                    Ok(())
                }
                cut => branch_value(eval, cut, next),
            },
            _ => Ok(()),
        },
        Hint::Past { group, number, test } => {
            let group = usize::from(group);
            // What leads there by the shortest way goes first.
            let first = eval.domains.groups[group].first_was(number, test);
            for on in [first, !first] {
                eval.domains.settle(group, number, test, Some(on));
                next(eval)?;
            }
            eval.domains.settle(group, number, test, None);
            Ok(())
        }
        Hint::Held(scene, number) => {
            for held in [false, true] {
                eval.domains.hold(scene, number, Some(held));
                next(eval)?;
            }
            eval.domains.hold(scene, number, None);
            Ok(())
        }
        Hint::Apart(scene) => {
            let Some((var, Cell::Mask(_))) = eval.domains.scenes[usize::from(scene)].moved else { return Ok(()) };
            match eval.domains.cells[usize::from(var)] {
                Cell::Mask(from) if from.count_ones() > 1 => every(eval, 0, var, next),
                Cell::Mask(from) => positions(eval, scene, var, from, next),
                Cell::Range { .. } => Ok(()),
            }
        }
    }
}

/// The edges of a region that nothing cuts any more: a value may meet its limit exactly with an axis at its end, and be told apart
/// there.
fn edges<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    num: NumId,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let is_stretch = |cell: Cell| matches!(cell, Cell::Range { low, high, .. } if low != high);
    let vars = eval.dag.each_var(eval.dag.sort(num).cone.vars);
    let axes: Vec<VarId> = vars.filter(|&var| is_stretch(eval.cell(scene, var))).collect();
    for var in axes {
        each(eval, scene, var, eval.cell(scene, var).ends().into_iter().flatten(), next)?;
    }
    Ok(())
}

/// As [`branch`], by what would tell more of a value.
pub(in crate::signal) fn branch_value<E>(
    eval: &mut Eval<'_>,
    cut: Cut,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    match cut {
        Cut::Nothing => Ok(()),
        Cut::Condition(hint) => branch(eval, hint, next),
        Cut::Each(scene, var) => every(eval, scene, var, next),
        Cut::At(scene, var, at) => {
            let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
            let parts = [
                Cell::Range { low, high: at, low_open, high_open: true },
                Cell::range(at, at),
                Cell::Range { low: at, high, low_open: true, high_open },
            ];
            let inside = (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
            let parts = parts.into_iter().enumerate().filter(|(index, _)| *index != 1 || inside);
            each(eval, scene, var, parts.map(|(_, part)| part), next)
        }
        Cut::Halve(scene, var) => {
            let Cell::Range { low, high, low_open, high_open } = eval.cell(scene, var) else { return Ok(()) };
            let steps = 1_048_576.0;
            let middle = ((low.near() + high.near()) / 2.0 * steps).round() / steps;
            match Rational64::dyadic(middle).filter(|at| low < *at && *at < high) {
                None => Ok(()),
                Some(at) => {
                    let parts = [
                        Cell::Range { low, high: at, low_open, high_open: false },
                        Cell::Range { low: at, high, low_open: true, high_open },
                    ];
                    each(eval, scene, var, parts, next)
                }
            }
        }
    }
}

/// In these positions, and in the others; those with the first position left go first.
fn positions<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    mask: u64,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
    let first = now & now.wrapping_neg();
    let (inside, outside) = (now & mask, now & !mask);
    let parts = if inside & first != 0 { [inside, outside] } else { [outside, inside] };
    each(eval, scene, var, parts.map(Cell::Mask), next)
}

/// In each position on its own.
fn every<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let Cell::Mask(now) = eval.cell(scene, var) else { return Ok(()) };
    let parts = (0..64).map(|at| now & 1 << at).map(Cell::Mask);
    each(eval, scene, var, parts, next)
}

fn each<E>(
    eval: &mut Eval<'_>,
    scene: u8,
    var: VarId,
    parts: impl IntoIterator<Item = Cell>,
    next: &mut dyn FnMut(&mut Eval<'_>) -> Result<(), E>,
) -> Result<(), E> {
    let whole = eval.cell(scene, var);
    for part in parts {
        let empty = match part {
            Cell::Mask(mask) => mask == 0,
            Cell::Range { low, high, low_open, high_open } => low > high || low == high && (low_open || high_open),
        };
        if empty {
            continue;
        }
        eval.domains.set(scene, var, part);
        next(eval)?;
    }
    eval.domains.set(scene, var, whole);
    Ok(())
}

/// A value is not told apart from a limit that is closer than this: microseconds before the link, or percent.
const CLOSE: f64 = 0.02;

/// What to settle next.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(in crate::signal) enum Cut {
    /// Nothing helps: the value is known as closely as it gets.
    Nothing,
    /// A condition that chooses between lines.
    Condition(Hint),
    /// Each position of a switch on its own.
    Each(u8, VarId),
    /// On which side of a value an axis stands, or exactly there.
    At(u8, VarId, Rational64),
    /// In which half of its stretch an axis stands.
    Halve(u8, VarId),
}

impl Eval<'_> {
    /// What to settle so that a value is known better, with regard to a limit if there is one.
    pub(in crate::signal) fn cut(&mut self, scene: u8, id: NumId, limit: Option<Rational64>) -> Cut {
        let dag = self.dag;
        if !self.domains.work(1) {
            return Cut::Nothing;
        }
        match dag.num(id) {
            Num::Const(_) | Num::Unknown(_) => Cut::Nothing,
            Num::Var(var) => self.cut_var(scene, var, limit),
            Num::Lin { constant, terms } => {
                let (mut rest, mut free) = (Some(constant), Vec::new());
                for &(by, term) in dag.terms(terms) {
                    match self.exact_point(scene, term) {
                        Some(value) => rest = rest.and_then(|sum| sum.add(value.mul(by)?)),
                        None => free.push((by, term)),
                    }
                }
                if let [(by, term)] = free.as_slice() {
                    let inner = limit.zip(rest).and_then(|(limit, rest)| limit.sub(rest)?.div(*by));
                    return self.cut(scene, *term, inner);
                }
                self.widest(scene, free.into_iter().map(|(by, term)| (by.near().abs(), term)), None)
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
                    _ => self.widest(scene, both.into_iter(), limit),
                }
            }
            Num::Mul(a, b) => {
                let (wide_a, wide_b) = (self.num(scene, a).width(), self.num(scene, b).width());
                if wide_a.max(wide_b) < 1e-6 {
                    return Cut::Nothing;
                }
                self.widest(scene, [(1.0, a), (1.0, b)].into_iter(), None)
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
                for &(when, value) in dag.lines(lines) {
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

    fn cut_var(&self, scene: u8, var: VarId, limit: Option<Rational64>) -> Cut {
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

    /// The cut of the part that leaves most open, with regard to a limit that each of them has; one that settles a switch goes first.
    fn widest(&mut self, scene: u8, parts: impl Iterator<Item = (f64, NumId)>, limit: Option<Rational64>) -> Cut {
        let mut best: Option<(f64, Cut)> = None;
        for (by, part) in parts {
            let width = by * self.num(scene, part).width();
            let cut = self.cut(scene, part, limit);
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
