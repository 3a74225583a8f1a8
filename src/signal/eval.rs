//! Three-valued evaluation over a box: every variable may still be anything in its cell.

use super::fix::Fix;
use super::interval::Interval;
use super::memory::Pasts;
use super::net::{Bit, BitId, Kind, Net, Num, NumId, VarId};
use super::program::{Program, switch_value};
use super::span::Span;

/// What a variable may still be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Cell {
    /// Positions of a switch.
    Mask(u64),
    /// A stretch of an axis; an open end is left out.
    Range { low: Fix, high: Fix, low_open: bool, high_open: bool },
}

impl Cell {
    pub(super) fn whole(kind: Kind) -> Self {
        match kind {
            Kind::Switch(n) => Self::Mask(u64::MAX >> (64 - u32::from(n.max(1)))),
            Kind::Axis(reach) => Self::range(reach.negate(), reach),
        }
    }

    pub(super) const fn range(low: Fix, high: Fix) -> Self {
        Self::Range { low, high, low_open: false, high_open: false }
    }
}

/// What would help to decide something that is not decided yet.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Hint {
    /// Whether a switch stands in one of these positions.
    Positions(u8, VarId, u64),
    /// Which position a switch stands in.
    Switch(u8, VarId),
    /// On which side of a value an axis stands, or exactly there.
    Axis(u8, VarId, Fix),
    /// In which half of its stretch an axis stands.
    Halve(u8, VarId),
    /// What a group of latches and tests remembers.
    Past(u8),
    /// Whether a condition counts as held.
    Held(u8, u8),
    /// Nothing: a curved value comes too close to a limit.
    Close,
    /// Nothing: the pulse of this channel is not known.
    NotKnown(u16),
}

/// Whether something holds all over the box.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(super) enum Tri {
    True,
    False,
    Maybe(Hint),
}

/// One moment: the state that is asked for, or the one after a step out of it.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    /// For a step: the variable that moves, and where to.
    pub(super) moved: Option<(VarId, Cell)>,
    /// A step that moves nothing that matters.
    pub(super) same_held: bool,
    /// Which `held` conditions are settled, and how.
    pub(super) held_known: u64,
    pub(super) held: u64,
}

impl Scene {
    pub(super) fn first() -> Self {
        Self { moved: None, same_held: false, held_known: 0, held: 0 }
    }
}

/// A group of latches and tests whose past hangs together.
#[derive(Clone, Debug)]
pub(super) struct Group {
    pub(super) latches: u64,
    pub(super) tests: u64,
    /// What it can remember: latches that were on, tests that held. The first is the start.
    pub(super) pasts: Vec<(u64, u64)>,
    /// The one chosen.
    pub(super) chosen: Option<u16>,
}

impl Group {
    pub(super) fn of(pasts: &Pasts) -> Self {
        Self {
            latches: pasts.latches,
            tests: pasts.tests,
            pasts: pasts.list.iter().map(|past| (past.latches, past.tests)).collect(),
            chosen: (pasts.list.len() == 1).then_some(0),
        }
    }
}

/// A value is not told apart from a limit that is closer than this: microseconds before the link, or percent.
const CLOSE: f64 = 0.02;

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
                Tri::Maybe(hint) => {
                    // A hint that leads on goes before one that leads nowhere.
                    if maybe.is_none_or(|known| matches!(known, Hint::Close | Hint::NotKnown(_))) {
                        maybe = Some(hint);
                    }
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
        if (span.ends.low - near).abs() < 1e-6 || (span.ends.high - near).abs() < 1e-6 {
            if let Some(exact) = self.exact(scene, num) {
                let all = exact.low > limit || exact.low == limit && (!strict || exact.low_open);
                let none = exact.high < limit || exact.high == limit && (strict || exact.high_open);
                if all || none {
                    return tri(all);
                }
            }
        }
        Tri::Maybe(self.hint(scene, num, Some(limit)))
    }

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

pub(super) const fn tri(value: bool) -> Tri {
    if value { Tri::True } else { Tri::False }
}

/// The expo of a value in percent, enclosed.
fn expo(x: Interval, k: Fix) -> Interval {
    let hundred = Interval::of(Fix::HUNDRED);
    let cube = x.mul(x.power(2)).div(10_000.0);
    let straight = x.mul(hundred.sub(Interval::of(k)));
    cube.mul(Interval::of(k)).add(straight).div(100.0)
}
