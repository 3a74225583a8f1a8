//! The query against a brute-force walk over a grid of positions, written apart from everything it checks.

use crate::signal::*;
use proptest::prelude::*;
use std::collections::{HashMap, VecDeque};

/// The controls of every random program: two switches, a button, two sticks.
pub(super) fn controls() -> Vec<Control> {
    vec![
        Control::switch("left-front", &["up", "down"]),
        Control::switch("left-rear", &["up", "middle", "down"]),
        Control::button("trigger"),
        Control::stick("roll", Function::Roll),
        Control::stick("throttle", Function::Throttle),
    ]
}

const AXES: [f64; 7] = [-100.0, -95.0, -60.0, 0.0, 30.0, 60.0, 100.0];

/// Values of the five controls; a switch's is its position.
type Grid = [f64; 5];

fn all_grids() -> Vec<Grid> {
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

struct Naive<'a> {
    parts: &'a Parts,
    now: Grid,
    before: Option<Grid>,
    latched: Vec<bool>,
    held: u64,
    new: Vec<Option<bool>>,
}

impl Naive<'_> {
    fn at(grid: &Grid, id: ControlId, at: Position) -> bool {
        let value = grid[usize::from(id.0)];
        match at {
            Position::Index(i) => value == f64::from(i),
            Position::Low => value <= -95.0,
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

    fn within(value: f64, bounds: &Bounds) -> bool {
        let low = bounds.low.is_none_or(|b| if b.strict { value > nearest(b.at) } else { value >= nearest(b.at) });
        low && bounds.high.is_none_or(|b| if b.strict { value < nearest(b.at) } else { value <= nearest(b.at) })
    }

    fn condition(&mut self, condition: &Condition) -> bool {
        match condition {
            Condition::Constant(value) => *value,
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
                let ranges = self.parts.modes[usize::from(id.0)].ranges.clone();
                ranges
                    .iter()
                    .all(|&(c, low, high)| Self::within(self.measure(c, *measure), &Bounds::between(low, high)))
            }
            Condition::Named(id) => self.named(*id),
            Condition::Not(of) => !self.condition(of),
            Condition::All(of) => of.iter().all(|c| self.condition(c)),
            Condition::Any(of) => of.iter().any(|c| self.condition(c)),
            Condition::Held(n, of) => self.condition(of) && self.held >> n & 1 == 1,
        }
    }

    fn named(&mut self, id: ConditionId) -> bool {
        let at = usize::from(id.0);
        if self.new[at].is_none() {
            let value = match self.parts.conditions[at].kind.clone() {
                NamedKind::Plain(condition) => self.condition(&condition),
                NamedKind::Latch { set, reset } => {
                    !self.condition(&reset) && (self.condition(&set) || self.latched[at])
                }
            };
            self.new[at] = Some(value);
        }
        self.new[at].unwrap()
    }

    fn measure(&mut self, number: u16, measure: Measure) -> f64 {
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
        let turned = if channel.reversed { -value } else { value } + nearest(channel.subtrim);
        let pulse = 1500.0 + 5.0 * turned.clamp(nearest(channel.travel.0), nearest(channel.travel.1));
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
            Value::Percent(number) => nearest(*number),
            Value::Control(id) | Value::Unshaped(id) => self.raw(*id),
            Value::Channel(number) => self.measure(*number, Measure::Percent),
            Value::Curve(id, of) => {
                let x = self.value(of);
                let points = &self.parts.curves[usize::from(id.0)].points;
                let pairs: Vec<(f64, f64)> = points.iter().map(|p| (nearest(p.0), nearest(p.1))).collect();
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

/// Whether any state on the grid satisfies the condition; all latches' states are walked through first.
fn reachable(parts: &Parts, condition: &Condition) -> bool {
    let grids = all_grids();
    let becomes = |grid: &Grid| -> [bool; 8] {
        // All that a later `becomes` can want to know of a past position.
        let p = |c: u16, at| Naive::at(grid, ControlId(c), at);
        let i = Position::Index;
        [p(0, i(0)), p(0, i(1)), p(1, i(0)), p(1, i(1)), p(1, i(2)), p(2, i(0)), p(2, i(1)), p(4, Position::Low)]
    };
    let mut seen: HashMap<(Vec<bool>, [bool; 8]), Option<Grid>> = HashMap::new();
    let mut todo = VecDeque::new();
    let none = vec![false; parts.conditions.len()];
    todo.push_back((none, None));
    while let Some((latched, before)) = todo.pop_front() {
        for &now in &grids {
            for held in 0..2 {
                let new = vec![None; latched.len()];
                let mut naive = Naive { parts, now, before, latched: latched.clone(), held, new };
                if naive.condition(condition) {
                    return true;
                }
                let is_latch = |n: &Named| matches!(n.kind, NamedKind::Latch { .. });
                let next: Vec<bool> = (0..)
                    .map(ConditionId)
                    .zip(&parts.conditions)
                    .map(|(id, n)| is_latch(n) && naive.named(id))
                    .collect();
                let key = (next.clone(), becomes(&now));
                if let std::collections::hash_map::Entry::Vacant(place) = seen.entry(key) {
                    place.insert(before);
                    todo.push_back((next, Some(now)));
                }
            }
        }
    }
    false
}

fn percents() -> impl Strategy<Value = Number> {
    prop::sample::select(vec![-100_i64, -95, -60, -31, 0, 17, 30, 60, 99, 100]).prop_map(whole)
}

fn pulses() -> impl Strategy<Value = Number> {
    prop::sample::select(vec![1000_i64, 1001, 1203, 1500, 1501, 1649, 1802, 2000]).prop_map(whole)
}

fn bounds(at: impl Strategy<Value = Number>) -> impl Strategy<Value = Bounds> {
    (at, 0..4).prop_map(|(at, kind)| match kind {
        0 => Bounds::above(at),
        1 => Bounds::below(at),
        2 => Bounds::at_least(at),
        _ => Bounds::at_most(at),
    })
}

fn position() -> impl Strategy<Value = (ControlId, Position)> {
    prop_oneof![
        (0_u8..2).prop_map(|i| (ControlId(0), Position::Index(i))),
        (0_u8..3).prop_map(|i| (ControlId(1), Position::Index(i))),
        (0_u8..2).prop_map(|i| (ControlId(2), Position::Index(i))),
        Just((ControlId(4), Position::Low)),
    ]
}

/// Conditions over controls, the named conditions below `named` and the channels below `channels`.
pub(super) fn condition(named: u16, channels: u16) -> BoxedStrategy<Condition> {
    let mut leaves = vec![
        position().prop_map(|(id, at)| Condition::At(id, at)).boxed(),
        position().prop_map(|(id, at)| Condition::Becomes(id, at)).boxed(),
        (3_u16..5, bounds(percents())).prop_map(|(id, b)| Condition::Axis(ControlId(id), b)).boxed(),
    ];
    if named > 0 {
        leaves.push((0..named).prop_map(|id| Condition::Named(ConditionId(id))).boxed());
    }
    if channels > 0 {
        let measure = prop::sample::select(vec![Measure::Sent, Measure::Received]);
        leaves
            .push((1..=channels, measure, bounds(pulses())).prop_map(|(c, m, b)| Condition::Channel(c, m, b)).boxed());
        leaves.push(
            (1..=channels, bounds(percents())).prop_map(|(c, b)| Condition::Channel(c, Measure::Percent, b)).boxed(),
        );
    }
    let leaf = prop::strategy::Union::new(leaves);
    leaf.prop_recursive(2, 8, 3, |inner| {
        prop_oneof![
            inner.clone().prop_map(Condition::not),
            prop::collection::vec(inner.clone(), 2..4).prop_map(Condition::All),
            prop::collection::vec(inner.clone(), 2..4).prop_map(Condition::Any),
            inner.prop_map(|c| Condition::Held(0, Box::new(c))),
        ]
    })
    .boxed()
}

fn value(channels: u16) -> BoxedStrategy<Value> {
    let mut leaves = vec![
        percents().prop_map(Value::Percent).boxed(),
        (0_u16..5).prop_map(|id| Value::Control(ControlId(id))).boxed(),
    ];
    if channels > 0 {
        leaves.push((1..=channels).prop_map(Value::Channel).boxed());
    }
    let leaf = prop::strategy::Union::new(leaves);
    leaf.prop_recursive(2, 6, 2, |inner| {
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| a.plus(b)),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| a.minus(b)),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| a.times(b)),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Value::Min(Box::new(a), Box::new(b))),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| Value::Max(Box::new(a), Box::new(b))),
            inner.prop_map(|a| a.through(CurveId(0))),
        ]
    })
    .boxed()
}

fn channel(number: u16, named: u16) -> BoxedStrategy<Channel> {
    let below = number - 1;
    let line = (value(below), prop::option::of(condition(named, below))).prop_map(|(value, when)| Line { value, when });
    let output = (any::<bool>(), prop::sample::select(vec![0_i64, 10]), prop::sample::select(vec![0_u32, 2, 3, 7]));
    (prop::collection::vec(line, 1..3), output)
        .prop_map(move |(lines, (reversed, subtrim, levels))| Channel {
            reversed,
            subtrim: whole(subtrim),
            carriage: if levels == 0 { Carriage::Unchanged } else { Carriage::Levels(levels) },
            ..Channel::of(number, lines)
        })
        .boxed()
}

/// Random parts: three conditions or latches (each may look at those before), three channels likewise.
pub(super) fn parts() -> impl Strategy<Value = Parts> {
    let named = |i: u16| {
        (any::<bool>(), condition(i, 0), condition(i, 0)).prop_map(move |(latch, a, b)| Named {
            name: format!("c{i}"),
            kind: if latch { NamedKind::Latch { set: a, reset: b } } else { NamedKind::Plain(a) },
        })
    };
    let curve = Curve {
        name: "soft".into(),
        points: [(-100, -100), (-60, 20), (30, -40), (100, 90)].map(|(x, y)| (whole(x), whole(y))).to_vec(),
        smooth: false,
    };
    ((named(0), named(1), named(2)), (channel(1, 3), channel(2, 3), channel(3, 3))).prop_map(move |(c, ch)| Parts {
        controls: controls(),
        curves: vec![curve.clone()],
        conditions: vec![c.0, c.1, c.2],
        channels: vec![ch.0, ch.1, ch.2],
        ..Parts::default()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    /// A yes replays; a no is not contradicted on the grid; question and contrary are never both no.
    #[test]
    fn answers_agree_with_the_grid(parts in parts(), asked in condition(3, 3)) {
        // Constants can multiply to numbers finer than a program takes; such parts are refused, not misread.
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        let yes = program.ask(&Question::is(asked.clone()));
        let no = program.ask(&Question::is(asked.clone().not()));
        prop_assert!(!(yes.is_no() && no.is_no()));
        match &yes {
            Answer::Yes(witness) => prop_assert_eq!(program.holds(&witness.path, &asked), Some(true)),
            Answer::No(_) => prop_assert!(!reachable(&parts, &asked)),
            Answer::NotDecided(_) => {}
        }
    }
}
