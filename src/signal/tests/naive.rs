//! A model of the signal path on a grid of positions, in plain floating point, written apart from everything it checks.

use crate::signal::*;
use std::collections::HashSet;

pub(in crate::signal) const AXES: [f64; 7] = [-100.0, -97.0, -60.0, 0.0, 30.0, 60.0, 100.0];

/// Values of the five controls; a switch's is its position.
pub(in crate::signal) type Grid = [f64; 5];

pub(in crate::signal) fn all_grids() -> Vec<Grid> {
    let mut all = vec![[0.0; 5]];
    for (i, values) in [&[0.0, 1.0][..], &[0.0, 1.0, 2.0], &[0.0, 1.0], &AXES, &AXES].into_iter().enumerate() {
        all = all
            .into_iter()
            .flat_map(|grid| {
                values.iter().map(move |&v| {
                    let mut next = grid;
                    next[i] = v;
                    next
                })
            })
            .collect();
    }
    all
}

pub(in crate::signal) struct Naive<'a> {
    pub(in crate::signal) parts: &'a Parts,
    pub(in crate::signal) now: Grid,
    pub(in crate::signal) before: Option<Grid>,
    pub(in crate::signal) latched: Vec<bool>,
    /// Whether everything that may count as held does.
    pub(in crate::signal) held: bool,
    /// The moment before, where what was true in it and still is stays held or not, as it was.
    pub(in crate::signal) last: Option<Box<Self>>,
    pub(in crate::signal) new: Vec<Option<bool>>,
}

impl<'a> Naive<'a> {
    pub(in crate::signal) fn new(
        parts: &'a Parts,
        now: Grid,
        before: Option<Grid>,
        latched: Vec<bool>,
        held: bool,
    ) -> Self {
        let new = vec![None; latched.len()];
        Self { parts, now, before, latched, held, last: None, new }
    }

    /// The moment after this one.
    pub(in crate::signal) fn next(&self, now: Grid, latches: Vec<bool>, held: bool) -> Self {
        let latched = self.latched.clone();
        let last = Naive::new(self.parts, self.now, self.before, latched, self.held);
        Self { last: Some(Box::new(last)), ..Naive::new(self.parts, now, Some(self.now), latches, held) }
    }

    /// Which latches are on after this moment.
    pub(in crate::signal) fn latches(&mut self) -> Vec<bool> {
        let is_latch = |n: &Named| matches!(n.kind, NamedKind::Latch { .. } | NamedKind::Toggle(_));
        let conditions = (0..).map(ConditionId).zip(&self.parts.conditions);
        conditions.map(|(id, named)| is_latch(named) && self.named(id)).collect()
    }

    fn at(grid: &Grid, id: ControlId, at: Position) -> bool {
        let value = grid[usize::from(id.0)];
        match at {
            Position::Index(i) => value == f64::from(i),
            Position::Low => value <= -97.0,
            Position::Centre => (-3.0..=3.0).contains(&value),
            Position::High => value >= 97.0,
        }
    }

    fn raw(&self, id: ControlId) -> f64 {
        let value = self.now[usize::from(id.0)];
        match id.0 {
            0 | 2 => value * 200.0 - 100.0,
            1 => value * 100.0 - 100.0,
            _ => value,
        }
    }

    /// A stick after its rates.
    fn shaped(&mut self, id: ControlId) -> f64 {
        let x = self.raw(id) / 100.0;
        let ControlKind::Stick { rates, .. } = self.parts.controls[usize::from(id.0)].kind.clone() else {
            return x * 100.0;
        };
        for rate in rates {
            if rate.when.as_ref().is_none_or(|when| self.condition(when)) {
                let k = rate.expo.near() / 100.0;
                return rate.rate.near() * (k * x.powi(3) + (1.0 - k) * x);
            }
        }
        x * 100.0
    }

    fn within(value: f64, bounds: &Bounds) -> bool {
        let low = bounds.low.is_none_or(|b| if b.strict { value > b.at.near() } else { value >= b.at.near() });
        low && bounds.high.is_none_or(|b| if b.strict { value < b.at.near() } else { value <= b.at.near() })
    }

    pub(in crate::signal) fn condition(&mut self, condition: &Condition) -> bool {
        match condition {
            Condition::Constant(value) => *value,
            Condition::Unknown(_) => panic!("everything is known in these programs"),
            Condition::At(id, at) => Self::at(&self.now, *id, *at),
            Condition::Becomes(id, at) => {
                Self::at(&self.now, *id, *at) && self.before.is_some_and(|b| !Self::at(&b, *id, *at))
            }
            Condition::Axis(id, bounds) => Self::within(self.raw(*id), bounds),
            Condition::Channel(number, measure, bounds) => {
                let value = self.measure(*number, *measure);
                Self::within(value, bounds)
            }
            Condition::Mode(id, measure) => {
                let any_of = self.parts.modes[usize::from(id.0)].any_of.clone();
                any_of.iter().any(|ranges| {
                    ranges
                        .iter()
                        .all(|&(c, low, high)| Self::within(self.measure(c, *measure), &Bounds::between(low, high)))
                })
            }
            Condition::Named(id) => self.named(*id),
            Condition::Not(of) => !self.condition(of),
            Condition::All(of) => of.iter().all(|c| self.condition(c)),
            Condition::Any(of) => of.iter().any(|c| self.condition(c)),
            Condition::Held(_, of) => {
                let last = self.last.as_mut().and_then(|last| last.condition(of).then_some(last.held));
                self.condition(of) && last.unwrap_or(self.held)
            }
        }
    }

    pub(in crate::signal) fn named(&mut self, id: ConditionId) -> bool {
        let at = usize::from(id.0);
        if self.new[at].is_none() {
            let value = match self.parts.conditions[at].kind.clone() {
                NamedKind::Plain(condition) => self.condition(&condition),
                NamedKind::Toggle(on) => self.condition(&on) != self.latched[at],
                NamedKind::Latch { set, reset } => {
                    !self.condition(&reset) && (self.condition(&set) || self.latched[at])
                }
            };
            self.new[at] = Some(value);
        }
        self.new[at].unwrap()
    }

    pub(in crate::signal) fn measure(&mut self, number: u16, measure: Measure) -> f64 {
        let channel = self.parts.channels.iter().find(|c| c.number == number).unwrap().clone();
        let mut value = 0.0;
        for line in &channel.lines {
            if line.when.as_ref().is_none_or(|w| self.condition(w)) {
                value = self.value(&line.value);
                break;
            }
        }
        if measure == Measure::Percent {
            return value;
        }
        let turned = if channel.reversed { -value } else { value } + channel.subtrim.near();
        let end = if turned < 0.0 { -channel.ends.0.near() } else { channel.ends.1.near() };
        let turned = turned * end / 100.0;
        let pulse = 1500.0 + 5.0 * turned.clamp(channel.travel.0.near(), channel.travel.1.near());
        match (channel.carriage, measure) {
            (Carriage::Levels(n), Measure::Received) => {
                let last = f64::from(n - 1);
                let place = ((pulse - 1000.0) * last / 1000.0 - 0.5).ceil().clamp(0.0, last);
                1000.0 + 1000.0 * place / last
            }
            _ => pulse,
        }
    }

    fn value(&mut self, value: &Value) -> f64 {
        match value {
            Value::Percent(number) => number.near(),
            Value::Unknown(_) => panic!("everything is known in these programs"),
            Value::Control(id) => self.shaped(*id),
            Value::Unshaped(id) => self.raw(*id),
            Value::Channel(number) => self.measure(*number, Measure::Percent),
            Value::Curve(id, of) => {
                let x = self.value(of);
                let points = &self.parts.curves[usize::from(id.0)].points;
                let pairs: Vec<(f64, f64)> = points.iter().map(|p| (p.0.near(), p.1.near())).collect();
                let after = pairs.partition_point(|p| p.0 <= x);
                if after == 0 {
                    return pairs[0].1;
                }
                let Some(next) = pairs.get(after) else { return pairs[after - 1].1 };
                let last = pairs[after - 1];
                last.1 + (x - last.0) * (next.1 - last.1) / (next.0 - last.0)
            }
            Value::Min(a, b) => self.value(a).min(self.value(b)),
            Value::Max(a, b) => self.value(a).max(self.value(b)),
            Value::Add(a, b) => self.value(a) + self.value(b),
            Value::Subtract(a, b) => self.value(a) - self.value(b),
            Value::Multiply(a, b) => self.value(a) * self.value(b) / 100.0,
            Value::Negate(of) => -self.value(of),
        }
    }
}

/// Which latches are on, and where everything stood in the moment before; `None` before the first.
pub(in crate::signal) type Past = (Vec<bool>, Option<Grid>);

/// Every past that can be told from others by what comes after it, on the grid.
pub(in crate::signal) fn pasts(parts: &Parts) -> Vec<Past> {
    let none = vec![false; parts.conditions.len()];
    following(parts, vec![(none, None)], &mut |_| {})
}

/// All pasts that some lead to, themselves too; shows every moment on the way.
pub(in crate::signal) fn following(parts: &Parts, from: Vec<Past>, see: &mut dyn FnMut(&mut Naive<'_>)) -> Vec<Past> {
    let grids = all_grids();
    let becomes = |grid: &Grid| -> [bool; 11] {
        // All that a later `becomes` can want to know of a past position.
        let p = |c: u16, at| Naive::at(grid, ControlId(c), at);
        let i = Position::Index;
        let low = |c| p(c, Position::Low);
        [
            p(0, i(0)),
            p(0, i(1)),
            p(1, i(0)),
            p(1, i(1)),
            p(1, i(2)),
            p(2, i(0)),
            p(2, i(1)),
            low(4),
            p(4, Position::Centre),
            p(4, Position::High),
            low(3),
        ]
    };
    let mut seen: HashSet<(Vec<bool>, [bool; 11])> = HashSet::new();
    let (mut all, mut at) = (from, 0);
    while let Some((latched, before)) = all.get(at).cloned() {
        at += 1;
        for &now in &grids {
            for held in [false, true] {
                let mut naive = Naive::new(parts, now, before, latched.clone(), held);
                see(&mut naive);
                let next = naive.latches();
                if seen.insert((next.clone(), becomes(&now))) {
                    all.push((next, Some(now)));
                }
            }
        }
    }
    all
}

/// Whether any state on the grid satisfies the condition.
pub(in crate::signal) fn reachable(parts: &Parts, condition: &Condition) -> bool {
    let mut found = false;
    let none = vec![false; parts.conditions.len()];
    following(parts, vec![(none, None)], &mut |naive| found = found || naive.condition(condition));
    found
}
