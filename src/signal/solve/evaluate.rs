//! Three-valued evaluation over a region: every variable may still be anything in its cell.

use crate::signal::number::interval::Interval;
use crate::signal::number::open_interval::OpenInterval;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::{Compiled, switch_value};
use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::Cone;
use crate::signal::solve::dag::{Bit, BitId, Dag, Kind, Memory, Num, NumId, VarId};
use crate::signal::solve::domains::{Domains, Hint, Tri, tri};
use crate::signal::solve::thresholds::expo;

/// Evaluates conditions over the cells.
pub(in crate::signal) struct Eval<'a> {
    pub(in crate::signal) program: &'a Compiled,
    pub(in crate::signal) dag: &'a Dag,
    pub(in crate::signal) domains: &'a mut Domains,
}

impl<'a> Eval<'a> {
    /// Over a region whose cells and moments are in place.
    pub(in crate::signal) fn new(program: &'a Compiled, dag: &'a Dag, domains: &'a mut Domains) -> Self {
        domains.make_room(dag.sizes());
        Self { program, dag, domains }
    }

    pub(in crate::signal) fn cell(&self, scene: u8, var: VarId) -> Cell {
        self.domains.cell(scene, var)
    }

    /// The moment in which something with this cone is looked at: the first where it is the same there.
    fn moment(&self, scene: u8, cone: &Cone) -> u8 {
        if scene == 0 || !cone.is_of_now() {
            return scene;
        }
        match self.domains.scenes[usize::from(scene)].moved {
            Some((moved, _)) if cone.vars.has(moved) => scene,
            _ => 0,
        }
    }

    /// Whether a condition holds in a moment.
    pub(in crate::signal) fn bit(&mut self, scene: u8, id: BitId) -> Tri {
        let dag = self.dag;
        let bit = dag.bit(id);
        match bit {
            // As quick to find as to look up.
            Bit::Const(value) => return tri(value),
            Bit::In(var, mask) => return self.stands_in(scene, id, var, mask),
            Bit::Above { var, strict, limit } => return self.above(scene, id, var, strict, limit),
            _ => {}
        }
        let cone = dag.cone(id);
        let scene = self.moment(scene, cone);
        let slot = usize::from(scene) * dag.sizes().0 + id as usize;
        if let Some(known) = self.domains.known_bit(slot, cone) {
            return known;
        }
        let value = self.find_bit(scene, id, bit);
        self.domains.note_bit(slot, value);
        value
    }

    fn stands_in(&self, scene: u8, id: BitId, var: VarId, mask: u64) -> Tri {
        match self.cell(scene, var) {
            Cell::Mask(now) if now & mask == now => Tri::True,
            Cell::Mask(now) if now & mask != 0 => Tri::Maybe(Hint::Atom(scene, id)),
            _ => Tri::False,
        }
    }

    fn above(&self, scene: u8, id: BitId, var: VarId, strict: bool, limit: Rational64) -> Tri {
        let Cell::Range { low, high, low_open, high_open } = self.cell(scene, var) else { return Tri::False };
        match low.cmp(&limit) {
            std::cmp::Ordering::Greater => return Tri::True,
            std::cmp::Ordering::Equal if !strict || low_open => return Tri::True,
            _ => {}
        }
        match high.cmp(&limit) {
            std::cmp::Ordering::Less => Tri::False,
            std::cmp::Ordering::Equal if strict || high_open => Tri::False,
            _ => Tri::Maybe(Hint::Atom(scene, id)),
        }
    }

    fn find_bit(&mut self, scene: u8, id: BitId, bit: Bit) -> Tri {
        let dag = self.dag;
        match bit {
            Bit::Const(value) => tri(value),
            Bit::In(var, mask) => self.stands_in(scene, id, var, mask),
            Bit::Above { var, strict, limit } => self.above(scene, id, var, strict, limit),
            Bit::Over { num, strict, limit } => self.over(scene, id, num, strict, limit),
            Bit::Not(of) => match self.bit(scene, of) {
                Tri::True => Tri::False,
                Tri::False => Tri::True,
                maybe => maybe,
            },
            Bit::All(run) => self.join(scene, dag.members(run), Tri::False, Tri::True),
            Bit::Any(run) => self.join(scene, dag.members(run), Tri::True, Tri::False),
            Bit::If(when, a, b) => match self.bit(scene, when) {
                Tri::True => self.bit(scene, a),
                Tri::False => self.bit(scene, b),
                Tri::Maybe(hint) => match (self.bit(scene, a), self.bit(scene, b)) {
                    (Tri::True, Tri::True) => Tri::True,
                    (Tri::False, Tri::False) => Tri::False,
                    (Tri::Maybe(other), _) | (_, Tri::Maybe(other)) if !hint.leads_on() => Tri::Maybe(other),
                    _ => Tri::Maybe(hint),
                },
            },
            Bit::Became(test) => {
                let now = self.bit(scene, dag.tests[usize::from(test)]);
                if now == Tri::False {
                    return Tri::False;
                }
                match (self.was(scene, test), now) {
                    (Tri::True, _) => Tri::False,
                    (Tri::False, now) => now,
                    (maybe, _) => maybe,
                }
            }
            Bit::Held { number, of } => match self.bit(scene, of) {
                Tri::True => {
                    let same = self.domains.scenes[usize::from(scene)].same_held;
                    let from = if same { 0 } else { scene };
                    let known = &self.domains.scenes[usize::from(from)];
                    match known.held_known >> number & 1 {
                        1 => tri(known.held >> number & 1 == 1),
                        _ => Tri::Maybe(Hint::Held(from, number)),
                    }
                }
                other => other,
            },
            Bit::Latch(number) => self.latch(scene, number),
            Bit::NotKnown(channel) => Tri::Maybe(Hint::NotKnown(channel)),
            // What depends on it is not asked for: it counts as what nothing can decide.
            Bit::Unknown(_) => Tri::Maybe(Hint::Close(scene, id)),
            Bit::Close { .. } => self.supposed(scene, id).map_or(Tri::Maybe(Hint::Close(scene, id)), tri),
        }
    }

    fn latch(&mut self, scene: u8, number: u8) -> Tri {
        let (set, reset) = match self.dag.latches[usize::from(number)] {
            Memory::Latch { set, reset } => (set, reset),
            Memory::Toggle(on) => {
                return match (self.bit(scene, on), self.was_on(scene, number)) {
                    (maybe @ Tri::Maybe(_), _) | (_, maybe @ Tri::Maybe(_)) => maybe,
                    (turns, was) => tri(turns != was),
                };
            }
        };
        let off = self.bit(scene, reset);
        if off == Tri::True {
            return Tri::False;
        }
        let on = match self.bit(scene, set) {
            Tri::True => Tri::True,
            Tri::False => self.was_on(scene, number),
            maybe => match self.was_on(scene, number) {
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

    fn join(&mut self, scene: u8, parts: &[BitId], decides: Tri, neutral: Tri) -> Tri {
        let mut maybe: Option<Hint> = None;
        for &part in parts {
            match self.bit(scene, part) {
                found if found == decides => return decides,
                // A hint that leads on goes before one that leads nowhere.
                Tri::Maybe(hint) if maybe.is_none_or(|known| !known.leads_on()) => maybe = Some(hint),
                _ => {}
            }
        }
        maybe.map_or(neutral, Tri::Maybe)
    }

    /// Whether a test held in the moment before.
    fn was(&mut self, scene: u8, test: u8) -> Tri {
        if scene > 0 {
            return self.bit(0, self.dag.tests[usize::from(test)]);
        }
        self.past(test, true)
    }

    pub(in crate::signal) fn was_on(&mut self, scene: u8, latch: u8) -> Tri {
        if scene > 0 {
            return self.bit(0, self.dag.latch_bit(latch));
        }
        self.past(latch, false)
    }

    fn past(&self, number: u8, test: bool) -> Tri {
        let groups = &self.domains.groups;
        let Some(at) = groups.iter().position(|group| group.all.has(number, test)) else { return Tri::False };
        groups[at].was(number, test).map_or(Tri::Maybe(Hint::Past { group: at as u8, number, test }), tri)
    }

    /// What a value may be in a moment.
    pub(in crate::signal) fn num(&mut self, scene: u8, id: NumId) -> OpenInterval {
        let dag = self.dag;
        let num = dag.num(id);
        if let Num::Const(value) = num {
            return OpenInterval::point(value);
        }
        let cone = &dag.sort(id).cone;
        let scene = self.moment(scene, cone);
        let slot = usize::from(scene) * dag.sizes().1 + id as usize;
        if let Some(known) = self.domains.known_num(slot, cone) {
            return known;
        }
        let value = self.find_num(scene, num);
        self.domains.note_num(slot, value);
        value
    }

    fn find_num(&mut self, scene: u8, num: Num) -> OpenInterval {
        let dag = self.dag;
        match num {
            Num::Const(value) => OpenInterval::point(value),
            Num::Unknown(_) => OpenInterval::ALL,
            Num::Var(var) => match self.cell(scene, var) {
                Cell::Range { low, high, low_open, high_open } => {
                    let ends = Interval { low: low.below(), high: high.above() };
                    OpenInterval { ends, low_open, high_open }
                }
                Cell::Mask(mask) => {
                    let (first, last) = self.position_ends(var, mask);
                    OpenInterval::point(first).hull(OpenInterval::point(last))
                }
            },
            Num::Lin { constant, terms } => {
                let mut sum = OpenInterval::point(constant);
                for &(by, term) in dag.terms(terms) {
                    sum = sum.add(self.num(scene, term).scale(by));
                }
                sum
            }
            Num::Mul(a, b) => {
                let (a, b) = (self.num(scene, a), self.num(scene, b));
                OpenInterval::of(a.ends.mul(b.ends))
            }
            Num::Square(of) => OpenInterval::of(self.num(scene, of).ends.power(2)),
            Num::Min(a, b) => self.num(scene, a).min(self.num(scene, b)),
            Num::Max(a, b) => self.num(scene, a).max(self.num(scene, b)),
            Num::Curve { curve, of } => {
                let x = self.num(scene, of);
                OpenInterval::of(self.program.shapes[usize::from(curve)].enclose(x.ends))
            }
            Num::Expo { of, k } => {
                let x = self.num(scene, of);
                let at = |x: f64| expo(Interval::point(x), k);
                OpenInterval { ends: Interval { low: at(x.ends.low).low, high: at(x.ends.high).high }, ..x }
            }
            Num::Choose { lines, otherwise } => {
                let mut hull: Option<OpenInterval> = None;
                for &(when, value) in dag.lines(lines) {
                    let when = self.bit(scene, when);
                    if when == Tri::False {
                        continue;
                    }
                    let span = self.num(scene, value);
                    let so_far = hull.map_or(span, |known| known.hull(span));
                    if when == Tri::True {
                        return so_far;
                    }
                    hull = Some(so_far);
                }
                let span = self.num(scene, otherwise);
                hull.map_or(span, |known| known.hull(span))
            }
        }
    }

    /// The values of the first and the last position among some.
    pub(in crate::signal) fn position_ends(&self, var: VarId, mask: u64) -> (Rational64, Rational64) {
        let n = match self.dag.kind(var) {
            Kind::Switch(n) => usize::from(n),
            Kind::Axis(_) => 2,
        };
        let at = |position: u32| switch_value(position as u8, n);
        (at(mask.trailing_zeros()), at(63 - mask.leading_zeros()))
    }

    fn over(&mut self, scene: u8, id: BitId, num: NumId, strict: bool, limit: Rational64) -> Tri {
        let span = self.num(scene, num);
        if let Some(decided) = span.over(strict, limit) {
            return tri(decided);
        }
        let near = limit.near();
        let close = (span.ends.low - near).abs() < 1e-6 || (span.ends.high - near).abs() < 1e-6;
        if close && let Some(exact) = self.exact_bounds(scene, num) {
            let all = exact.low > limit || exact.low == limit && (!strict || exact.low_open);
            let none = exact.high < limit || exact.high == limit && (strict || exact.high_open);
            if all || none {
                return tri(all);
            }
        }
        if !self.domains.stuck.contains(&(scene, id)) {
            return Tri::Maybe(Hint::Atom(scene, id));
        }
        self.supposed(scene, id).map_or(Tri::Maybe(Hint::Close(scene, id)), tri)
    }

    /// How a comparison that nothing can decide is supposed to come out.
    fn supposed(&self, scene: u8, id: BitId) -> Option<bool> {
        self.domains.supposed.iter().find(|known| (known.0, known.1) == (scene, id)).map(|known| known.2)
    }
}
