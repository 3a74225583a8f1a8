//! Three-valued evaluation over a box: every variable may still be anything in its cell.

use super::fix::Fix;
use super::interval::Interval;
use super::net::{Bit, BitId, Kind, Net, Num, NumId, VarId};
use super::program::{Program, switch_value};
use super::region::{Cell, Group, Hint, Scene, Tri, tri};
use super::span::Span;

#[derive(Clone, Copy)]
struct Memo<T> {
    at: u32,
    value: T,
}

/// Evaluates conditions over the cells.
pub(super) struct Eval<'a> {
    pub(super) program: &'a Program,
    pub(super) net: &'a Net,
    pub(super) cells: Vec<Cell>,
    pub(super) scenes: Vec<Scene>,
    pub(super) groups: Vec<Group>,
    round: u32,
    bits: Vec<Memo<Tri>>,
    nums: Vec<Memo<Span>>,
}

impl<'a> Eval<'a> {
    pub(super) fn new(program: &'a Program, net: &'a Net, cells: Vec<Cell>, scenes: Vec<Scene>) -> Self {
        let bits = vec![Memo { at: 0, value: Tri::False }; net.bits.len() * scenes.len()];
        let nums = vec![Memo { at: 0, value: Span::of(Interval::ALL) }; net.nums.len() * scenes.len()];
        Self { program, net, cells, scenes, groups: Vec::new(), round: 0, bits, nums }
    }

    /// Forgets what was found: the cells have changed.
    pub(super) fn fresh(&mut self) {
        self.round += 1;
    }

    pub(super) fn cell(&self, scene: u8, var: VarId) -> Cell {
        match self.scenes[usize::from(scene)].moved {
            Some((moved, cell)) if moved == var => cell,
            _ => self.cells[usize::from(var)],
        }
    }

    /// Whether a condition holds in a scene.
    pub(super) fn bit(&mut self, scene: u8, id: BitId) -> Tri {
        let slot = usize::from(scene) * self.net.bits.len() + id as usize;
        if self.bits[slot].at == self.round {
            return self.bits[slot].value;
        }
        let value = self.find_bit(scene, id);
        self.bits[slot] = Memo { at: self.round, value };
        value
    }

    fn find_bit(&mut self, scene: u8, id: BitId) -> Tri {
        let net = self.net;
        match net.bit(id) {
            Bit::Const(value) => tri(*value),
            Bit::In(var, mask) => match self.cell(scene, *var) {
                Cell::Mask(now) if now & mask == now => Tri::True,
                Cell::Mask(now) if now & mask == 0 => Tri::False,
                Cell::Mask(_) => Tri::Maybe(Hint::Positions(scene, *var, *mask)),
                Cell::Range { .. } => Tri::False,
            },
            Bit::Over { num, strict, limit } => self.over(scene, *num, *strict, *limit),
            Bit::Not(of) => match self.bit(scene, *of) {
                Tri::True => Tri::False,
                Tri::False => Tri::True,
                maybe => maybe,
            },
            Bit::All(parts) => self.join(scene, parts, Tri::False, Tri::True),
            Bit::Any(parts) => self.join(scene, parts, Tri::True, Tri::False),
            Bit::Became(test) => {
                let now = self.bit(scene, net.tests[usize::from(*test)]);
                if now == Tri::False {
                    return Tri::False;
                }
                match (self.was(scene, *test), now) {
                    (Tri::True, _) => Tri::False,
                    (Tri::False, now) => now,
                    (maybe, _) => maybe,
                }
            }
            Bit::Held { number, of } => match self.bit(scene, *of) {
                Tri::True => {
                    let same = self.scenes[usize::from(scene)].same_held;
                    let from = if same { 0 } else { usize::from(scene) };
                    let known = &self.scenes[from];
                    match known.held_known >> number & 1 {
                        1 => tri(known.held >> number & 1 == 1),
                        _ => Tri::Maybe(Hint::Held(from as u8, *number)),
                    }
                }
                other => other,
            },
            Bit::Latch(number) => {
                let (set, reset) = net.latches[usize::from(*number)];
                let off = self.bit(scene, reset);
                if off == Tri::True {
                    return Tri::False;
                }
                let on = match self.bit(scene, set) {
                    Tri::True => Tri::True,
                    Tri::False => self.was_on(scene, *number),
                    maybe => match self.was_on(scene, *number) {
                        Tri::True => Tri::True,
                        _ => maybe,
                    },
                };
                match (off, on) {
                    (_, Tri::False) => Tri::False,
                    (Tri::False, on) => on,
                    (off, _) => off,
                }
            }
            Bit::NotKnown(channel) => Tri::Maybe(Hint::NotKnown(*channel)),
        }
    }

    fn join(&mut self, scene: u8, parts: &[BitId], decides: Tri, neutral: Tri) -> Tri {
        let mut maybe = None;
        for &part in parts {
            match self.bit(scene, part) {
                found if found == decides => return decides,
                // A hint that leads on goes before one that leads nowhere.
                Tri::Maybe(hint) if maybe.is_none_or(|known| matches!(known, Hint::Close | Hint::NotKnown(_))) => {
                    maybe = Some(hint);
                }
                _ => {}
            }
        }
        maybe.map_or(neutral, Tri::Maybe)
    }

    /// Whether a test held in the moment before.
    fn was(&mut self, scene: u8, test: u8) -> Tri {
        if scene > 0 {
            return self.bit(0, self.net.tests[usize::from(test)]);
        }
        self.past(|group| group.tests >> test & 1 == 1, |past| past.1 >> test & 1 == 1)
    }

    fn was_on(&mut self, scene: u8, latch: u8) -> Tri {
        if scene > 0 {
            let id = self.net.latch_bit(latch);
            return self.bit(0, id);
        }
        self.past(|group| group.latches >> latch & 1 == 1, |past| past.0 >> latch & 1 == 1)
    }

    fn past(&self, mine: impl Fn(&Group) -> bool, read: impl Fn(&(u64, u64)) -> bool) -> Tri {
        let Some(at) = self.groups.iter().position(mine) else { return Tri::False };
        let group = &self.groups[at];
        match group.chosen {
            Some(chosen) => tri(group.pasts.get(usize::from(chosen)).is_some_and(read)),
            None => {
                let on = group.pasts.iter().filter(|past| read(past)).count();
                match on {
                    0 => Tri::False,
                    all if all == group.pasts.len() => Tri::True,
                    _ => Tri::Maybe(Hint::Past(at as u8)),
                }
            }
        }
    }

    /// What a value may be in a scene.
    pub(super) fn num(&mut self, scene: u8, id: NumId) -> Span {
        let slot = usize::from(scene) * self.net.nums.len() + id as usize;
        if self.nums[slot].at == self.round {
            return self.nums[slot].value;
        }
        let value = self.find_num(scene, id);
        self.nums[slot] = Memo { at: self.round, value };
        value
    }

    fn find_num(&mut self, scene: u8, id: NumId) -> Span {
        let net = self.net;
        match net.num(id) {
            Num::Const(value) => Span::point(*value),
            Num::Var(var) => match self.cell(scene, *var) {
                Cell::Range { low, high, low_open, high_open } => {
                    let ends = Interval { low: low.below(), high: high.above() };
                    Span { ends, low_open, high_open }
                }
                Cell::Mask(mask) => {
                    let n = self.positions(*var);
                    let (first, last) = (mask.trailing_zeros() as u8, 63 - mask.leading_zeros() as u8);
                    let at = |position| Span::point(Fix::of(switch_value(position, n)));
                    at(first).hull(at(last))
                }
            },
            Num::Lin { constant, terms } => {
                let mut sum = Span::point(*constant);
                for (by, term) in terms {
                    sum = sum.add(self.num(scene, *term).scale(*by));
                }
                sum
            }
            Num::Mul(a, b) => {
                let (a, b) = (self.num(scene, *a), self.num(scene, *b));
                Span::of(a.ends.mul(b.ends))
            }
            Num::Square(of) => Span::of(self.num(scene, *of).ends.power(2)),
            Num::Min(a, b) => self.num(scene, *a).min(self.num(scene, *b)),
            Num::Max(a, b) => self.num(scene, *a).max(self.num(scene, *b)),
            Num::Curve { curve, of } => {
                let x = self.num(scene, *of);
                Span::of(self.program.shapes[usize::from(*curve)].enclose(x.ends))
            }
            Num::Expo { of, k } => {
                let x = self.num(scene, *of);
                let at = |x: f64| expo(Interval::point(x), *k);
                Span { ends: Interval { low: at(x.ends.low).low, high: at(x.ends.high).high }, ..x }
            }
            Num::Choose { lines, otherwise } => {
                let mut hull: Option<Span> = None;
                let add = |hull: &mut Option<Span>, span: Span| {
                    *hull = Some(hull.map_or(span, |known: Span| known.hull(span)))
                };
                for &(when, value) in lines {
                    match self.bit(scene, when) {
                        Tri::False => {}
                        Tri::True => {
                            let span = self.num(scene, value);
                            add(&mut hull, span);
                            return hull.unwrap_or(span);
                        }
                        Tri::Maybe(_) => {
                            let span = self.num(scene, value);
                            add(&mut hull, span);
                        }
                    }
                }
                let span = self.num(scene, *otherwise);
                add(&mut hull, span);
                hull.unwrap_or(span)
            }
        }
    }

    pub(super) fn positions(&self, var: VarId) -> usize {
        match self.net.vars[usize::from(var)].1 {
            Kind::Switch(n) => usize::from(n),
            Kind::Axis(_) => 0,
        }
    }

    fn over(&mut self, scene: u8, num: NumId, strict: bool, limit: Fix) -> Tri {
        let span = self.num(scene, num);
        if let Some(decided) = span.over(strict, limit) {
            return tri(decided);
        }
        let near = limit.near();
        let close = (span.ends.low - near).abs() < 1e-6 || (span.ends.high - near).abs() < 1e-6;
        if close && let Some(exact) = self.exact(scene, num) {
            let all = exact.low > limit || exact.low == limit && (!strict || exact.low_open);
            let none = exact.high < limit || exact.high == limit && (strict || exact.high_open);
            if all || none {
                return tri(all);
            }
        }
        Tri::Maybe(self.hint(scene, num, Some(limit)))
    }
}

/// The expo of a value in percent, enclosed.
fn expo(x: Interval, k: Fix) -> Interval {
    let hundred = Interval::of(Fix::HUNDRED);
    let cube = x.mul(x.power(2)).div(10_000.0);
    let straight = x.mul(hundred.sub(Interval::of(k)));
    cube.mul(Interval::of(k)).add(straight).div(100.0)
}
