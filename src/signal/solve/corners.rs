//! Where a channel that is drawn against one stick bends, steps, or passes a limit: exactly, so that no drawing misses it.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::compiled::switch_value;
use crate::signal::program::parts::{Condition, ControlId};
use crate::signal::program::state::{Handle, Setting};
use crate::signal::simulate::play::End;
use crate::signal::solve::cone::VarSet;
use crate::signal::solve::dag::{Bit, BitId, Dag, Fits, Kind, Memory, Num, NumId, TooLarge, VarId, fits};
use crate::signal::solve::program::Program;
use rustc_hash::{FxHashMap, FxHashSet};

/// A place of an axis, in percent.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Place {
    /// Where.
    pub at: Rational64,
    /// What it is for.
    pub why: Whereabouts,
}

/// What a place of an axis is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Whereabouts {
    /// An end of the axis, its middle, or a place where the channel may bend, step or pass a limit.
    Corner,
    /// Just beside a corner: the value of a step on that side.
    Beside,
    /// Between two corners, where a channel that bends softly is to be seen.
    Between,
}

/// The places of an axis at which a channel is to be read to draw it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Places {
    /// In order.
    pub list: Vec<Place>,
    /// Whether no corner can be missing.
    pub exact: bool,
}

/// How far beside a corner a step is looked at, in percent: less than any pulse shows.
const BESIDE: (i64, i64) = (1, 4096);

/// So many places are looked at between two corners.
const BETWEEN: i64 = 24;

impl Program {
    /// The places of an axis at which a channel is to be read to draw it from the end of a path on, where everything else stays as it is,
    /// with those where its pulse passes one of some limits in microseconds.
    pub fn corners(&self, channel: u16, end: &End<'_>, axis: ControlId, limits: &[Rational64]) -> Places {
        let kept = &mut *self.kept();
        let found = self.put_together(&mut kept.dag, |dag| {
            // What is taken apart is bounded as in a question.
            dag.asked(self, &Condition::Constant(true))?;
            let var = dag.var(self, Handle::Control(axis))?;
            let num = dag.sent(self, channel)?;
            let mut search = Search { program: self, end, dag, var, nums: FxHashSet::default(), bits: Vec::new() };
            let num = search.standing(num, &mut FxHashMap::default())?;
            search.value(num)?;
            for limit in limits {
                let bit = search.dag.over(self, num, true, *limit);
                search.bits.push(bit);
            }
            Ok::<_, TooLarge>(search.corners())
        });
        let (mut corners, exact) = found.unwrap_or_default();
        let hundred = whole(100);
        corners.retain(|at| *at > hundred.negate() && *at < hundred);
        corners.extend([hundred.negate(), whole(0), hundred]);
        corners.sort_unstable();
        corners.dedup();
        Places { list: around(&corners), exact }
    }
}

/// The corners with the places beside and between them.
fn around(corners: &[Rational64]) -> Vec<Place> {
    let beside = Rational64::new(BESIDE.0, BESIDE.1).unwrap_or(Rational64::ONE);
    let mut list = Vec::new();
    for (index, &at) in corners.iter().enumerate() {
        let near = |other: Option<Rational64>| other.map(|at| Place { at, why: Whereabouts::Beside });
        list.extend((index > 0).then(|| near(at.sub(beside))).flatten());
        list.push(Place { at, why: Whereabouts::Corner });
        let Some(&next) = corners.get(index + 1) else { continue };
        list.extend(near(at.add(beside)));
        let part = |step: i64| next.sub(at)?.mul(Rational64::new(step, BETWEEN)?)?.add(at);
        list.extend((1..BETWEEN).filter_map(part).map(|at| Place { at, why: Whereabouts::Between }));
    }
    // Where corners lie closer together than what is beside them, the order is another one.
    list.sort_by_key(|place| place.at);
    list.dedup_by_key(|place| place.at);
    list
}

struct Search<'a> {
    program: &'a Program,
    end: &'a End<'a>,
    dag: &'a mut Dag,
    var: VarId,
    nums: FxHashSet<NumId>,
    /// Conditions that turn where the value may bend or step.
    bits: Vec<BitId>,
}

impl Search<'_> {
    /// A value with everything but the axis that is moved where it stands.
    fn standing(&mut self, num: NumId, known: &mut FxHashMap<NumId, NumId>) -> Fits<NumId> {
        if let Some(&found) = known.get(&num) {
            return Ok(found);
        }
        let constant = |search: &Self, num: NumId| match search.dag.num(num) {
            Num::Const(at) => Some(at),
            _ => None,
        };
        let found = match self.dag.num(num) {
            Num::Var(var) if var != self.var => {
                let at = fits(self.stands_at(var))?;
                self.dag.num_node(Num::Const(at))
            }
            Num::Const(_) | Num::Unknown(_) | Num::Var(_) => num,
            Num::Lin { constant, terms } => {
                let terms = self.dag.terms(terms).to_vec();
                let terms = terms.into_iter().map(|(by, term)| Ok((by, self.standing(term, known)?)));
                let terms = terms.collect::<Fits<Vec<_>>>()?;
                self.dag.lin(constant, &terms)?
            }
            Num::Mul(a, b) => {
                // The node is a plain product, and what is put together is one of percents.
                let (a, b) = (self.standing(a, known)?, self.standing(b, known)?);
                let product = self.dag.product(a, b)?;
                self.dag.lin(Rational64::ZERO, &[(whole(100), product)])?
            }
            Num::Square(of) => {
                let of = self.standing(of, known)?;
                let product = self.dag.product(of, of)?;
                self.dag.lin(Rational64::ZERO, &[(whole(100), product)])?
            }
            Num::Min(a, b) => {
                let (a, b) = (self.standing(a, known)?, self.standing(b, known)?);
                self.dag.least(a, b)
            }
            Num::Max(a, b) => {
                let (a, b) = (self.standing(a, known)?, self.standing(b, known)?);
                self.dag.greatest(a, b)
            }
            Num::Curve { curve, of } => {
                let of = self.standing(of, known)?;
                let shape = fits(self.program.shapes.get(usize::from(curve)))?;
                match constant(self, of).map(|at| shape.small_at(at)) {
                    Some(at) => self.dag.num_node(Num::Const(fits(at)?)),
                    None => self.dag.num_node(Num::Curve { curve, of }),
                }
            }
            Num::Expo { of, k } => {
                let of = self.standing(of, known)?;
                match constant(self, of).map(|at| at.shaped(Rational64::HUNDRED, k)) {
                    Some(at) => self.dag.num_node(Num::Const(fits(at)?)),
                    None => self.dag.num_node(Num::Expo { of, k }),
                }
            }
            Num::Choose { lines, otherwise } => {
                let mut kept = Vec::new();
                let mut last = otherwise;
                for (when, value) in self.dag.lines(lines).to_vec() {
                    match self.holds(when) {
                        Some(false) => {}
                        Some(true) => {
                            last = value;
                            break;
                        }
                        None => kept.push((when, self.standing(value, known)?)),
                    }
                }
                let last = self.standing(last, known)?;
                self.dag.choose(kept, last)
            }
        };
        known.insert(num, found);
        Ok(found)
    }

    /// Where an axis, a trim or a switch stands, in percent.
    fn stands_at(&self, var: VarId) -> Option<Rational64> {
        let &(handle, kind) = self.dag.vars.get(usize::from(var))?;
        match (self.end.stands_at(handle)?, kind) {
            (Setting::Percent(at), _) => Some(at),
            (Setting::Position(at), Kind::Switch(n)) => Some(switch_value(at, usize::from(n))),
            (Setting::Position(_), Kind::Axis(_)) => None,
        }
    }

    /// Whether a condition holds wherever the axis is moved; `None` where that hangs on the axis, or is not known.
    fn holds(&self, bit: BitId) -> Option<bool> {
        let moves = self.dag.cone(bit).vars.meets(VarSet::one(self.var));
        let every = |run, all: bool| {
            let mut found = Some(all);
            for &part in self.dag.members(run) {
                match self.holds(part) {
                    Some(holds) if holds != all => return Some(!all),
                    Some(_) => {}
                    None => found = None,
                }
            }
            found
        };
        match self.dag.bit(bit) {
            Bit::Const(holds) => Some(holds),
            Bit::In(var, mask) => match self.end.stands_at(self.dag.vars.get(usize::from(var))?.0)? {
                Setting::Position(at) => Some(mask >> at & 1 == 1),
                Setting::Percent(_) => None,
            },
            Bit::Above { var, strict, limit } if var != self.var => {
                let at = self.stands_at(var)?;
                Some(if strict { at > limit } else { at >= limit })
            }
            Bit::Not(of) => self.holds(of).map(|holds| !holds),
            Bit::All(run) => every(run, true),
            Bit::Any(run) => every(run, false),
            Bit::If(when, then, otherwise) => self.holds(if self.holds(when)? { then } else { otherwise }),
            // Nothing else is moved, so that nothing else becomes anything, and a latch that does not look at the axis stays.
            Bit::Became(_) if !moves => Some(false),
            Bit::Latch(latch) if !moves => self.end.latch(self.dag.latch_ids.get(usize::from(latch))?.0),
            _ => None,
        }
    }

    /// Notes the conditions that turn where a value may bend or step.
    fn value(&mut self, num: NumId) -> Fits<()> {
        if !self.nums.insert(num) || !self.dag.sort(num).cone.vars.meets(VarSet::one(self.var)) {
            return Ok(());
        }
        match self.dag.num(num) {
            Num::Const(_) | Num::Unknown(_) | Num::Var(_) => {}
            Num::Lin { terms, .. } => {
                for (_, term) in self.dag.terms(terms).to_vec() {
                    self.value(term)?;
                }
            }
            Num::Square(of) | Num::Expo { of, .. } => self.value(of)?,
            Num::Mul(a, b) => {
                self.value(a)?;
                self.value(b)?;
            }
            Num::Min(a, b) | Num::Max(a, b) => {
                self.value(a)?;
                self.value(b)?;
                let apart = match (self.dag.num(a), self.dag.num(b)) {
                    (Num::Const(end), _) => self.dag.over(self.program, b, true, end),
                    (_, Num::Const(end)) => self.dag.over(self.program, a, true, end),
                    _ => {
                        let one = Rational64::ONE;
                        let apart = self.dag.lin(Rational64::ZERO, &[(one, a), (one.negate(), b)])?;
                        self.dag.over(self.program, apart, true, Rational64::ZERO)
                    }
                };
                self.bits.push(apart);
            }
            Num::Curve { curve, of } => {
                self.value(of)?;
                let curve = self.program.parts().curves.get(usize::from(curve));
                for (x, _) in curve.map_or(&[][..], |curve| &curve.points) {
                    let bit = self.dag.over(self.program, of, true, *x);
                    self.bits.push(bit);
                }
            }
            Num::Choose { lines, otherwise } => {
                for (when, value) in self.dag.lines(lines).to_vec() {
                    self.bits.push(when);
                    self.value(value)?;
                }
                self.value(otherwise)?;
            }
        }
        Ok(())
    }

    /// The limits of the axis in those conditions, and whether these are all.
    fn corners(&self) -> (Vec<Rational64>, bool) {
        let (mut found, mut exact) = (Vec::new(), true);
        let mut seen: FxHashSet<BitId> = FxHashSet::default();
        let mut open = self.bits.clone();
        while let Some(bit) = open.pop() {
            if !seen.insert(bit) {
                continue;
            }
            match self.dag.bit(bit) {
                Bit::Above { var, limit, .. } if var == self.var => found.push(limit),
                // A value that could not be taken apart may pass its limit anywhere.
                Bit::Over { num, .. } => exact &= !self.dag.sort(num).cone.vars.meets(VarSet::one(self.var)),
                Bit::Not(of) | Bit::Held { of, .. } => open.push(of),
                Bit::All(run) | Bit::Any(run) => open.extend(self.dag.members(run)),
                Bit::If(a, b, c) => open.extend([a, b, c]),
                Bit::Became(test) => open.extend(self.dag.tests.get(usize::from(test))),
                Bit::Latch(latch) => match self.dag.latches.get(usize::from(latch)) {
                    Some(Memory::Latch { set, reset }) => open.extend([*set, *reset]),
                    Some(Memory::Toggle(of)) => open.push(*of),
                    None => {}
                },
                Bit::Unknown(_) | Bit::NotKnown(_) => exact = false,
                Bit::Const(_) | Bit::In(..) | Bit::Above { .. } | Bit::Close { .. } => {}
            }
        }
        (found, exact)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::{Channel, Control, ControlKind, Curve, CurveId, Function, Parts, Path, Value};

    /// A channel of one stick.
    fn corners(value: Value, change: impl FnOnce(&mut Channel), limits: &[Rational64]) -> (Vec<Rational64>, bool) {
        let mut channel = Channel::new(1, value);
        change(&mut channel);
        let points = vec![(whole(-100), whole(-100)), (whole(-20), whole(0)), (whole(100), whole(100))];
        let parts = Parts {
            controls: vec![Control::stick("roll", Function::Roll), Control::switch("top", &["up", "down"])],
            curves: vec![Curve { name: "bent".into(), points, rounded: false }],
            channels: vec![channel],
            ..Parts::default()
        };
        let program = Program::new(parts).unwrap();
        let places = program.corners(1, &program.end_of(&Path::at(program.rest())), ControlId(0), limits);
        let corners = places.list.iter().filter(|place| place.why == Whereabouts::Corner);
        (corners.map(|place| place.at).collect(), places.exact)
    }

    /// Worked out by hand from DESIGN 4.3, 4.6 and 4.7.
    #[test]
    fn corners_are_where_arithmetic_by_hand_has_them() {
        let stick = || Value::Control(ControlId(0));
        let times = |percent: i64| stick().times(Value::percent(percent));
        let ends = |more: &[Rational64]| {
            let mut all: Vec<Rational64> = [-100, 0, 100].map(whole).iter().chain(more).copied().collect();
            all.sort();
            (all, true)
        };
        // 130 % of the stick is cut at 100 %: at 100 / 1.3 = 1000/13.
        let cut = Rational64::new(1000, 13).unwrap();
        assert_eq!(corners(times(130), |_| (), &[]), ends(&[cut, cut.negate()]));
        // Travel -80..95 % of the stick with 5 % subtrim: -85 and 90.
        let cut = |channel: &mut Channel| (channel.subtrim, channel.travel) = (whole(5), (whole(-80), whole(95)));
        assert_eq!(corners(stick(), cut, &[]), ends(&[whole(-85), whole(90)]));
        // The point at -20 % of a curve of half the stick lies at -40 % of the stick.
        assert_eq!(corners(times(50).through(CurveId(0)), |_| (), &[]), ends(&[whole(-40)]));
        // 1340 us is (1340 - 1500) / 5 = -32 %.
        assert_eq!(corners(stick(), |_| (), &[whole(1340)]), ends(&[whole(-32)]));
        // The lesser of the stick and 20 %.
        let least = Value::Min(Box::new(stick()), Box::new(Value::percent(20)));
        assert_eq!(corners(least, |_| (), &[]), ends(&[whole(20)]));
    }

    /// What others would shift is at rest in what is drawn.
    #[test]
    fn other_sticks_and_trims_rest() {
        let (roll, pitch) = (Value::Control(ControlId(0)), Value::Control(ControlId(1)));
        let mut stick = Control::stick("roll", Function::Roll);
        let ControlKind::Stick { trim, .. } = &mut stick.kind else { panic!("no stick") };
        *trim = Some(whole(25));
        let mixed = roll.times(Value::percent(125)).plus(pitch.clone().times(pitch).times(Value::percent(50)));
        let parts = Parts {
            controls: vec![stick, Control::stick("pitch", Function::Pitch)],
            channels: vec![Channel::new(1, mixed)],
            ..Parts::default()
        };
        let program = Program::new(parts).unwrap();
        let places = program.corners(1, &program.end_of(&Path::at(program.rest())), ControlId(0), &[]);
        let corners = places.list.iter().filter(|place| place.why == Whereabouts::Corner);
        let found: Vec<Rational64> = corners.map(|place| place.at).collect();
        // 125 % of 80 % is 100 %.
        assert_eq!((found, places.exact), ([-100, -80, 0, 80, 100].map(whole).to_vec(), true));
    }

    /// x² - x passes 0 at 0 and 1: what is not taken apart is told.
    #[test]
    fn what_is_not_taken_apart_is_not_called_exact() {
        let stick = || Box::new(Value::Control(ControlId(0)));
        let bent = Value::Subtract(Box::new(Value::Multiply(stick(), stick())), stick());
        let least = Value::Min(Box::new(bent), Box::new(Value::percent(10)));
        assert!(!corners(least, |_| (), &[]).1);
    }
}
