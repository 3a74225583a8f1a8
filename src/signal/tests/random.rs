//! Random parts and questions.

use crate::signal::*;
use proptest::prelude::*;

/// The controls of every random program: two switches, a button, two sticks.
pub(in crate::signal) fn controls() -> Vec<Control> {
    vec![
        Control::switch("left-front", &["up", "down"]),
        Control::switch("left-rear", &["up", "middle", "down"]),
        Control::button("trigger"),
        Control::stick("roll", Function::Roll),
        Control::stick("throttle", Function::Throttle),
    ]
}

pub(in crate::signal) fn percents() -> impl Strategy<Value = Rational64> {
    prop::sample::select(vec![-100_i64, -97, -60, -31, 0, 17, 30, 60, 99, 100]).prop_map(whole)
}

pub(in crate::signal) fn pulses() -> impl Strategy<Value = Rational64> {
    prop::sample::select(vec![1000_i64, 1001, 1203, 1500, 1501, 1649, 1802, 2000]).prop_map(whole)
}

pub(in crate::signal) fn bounds(at: impl Strategy<Value = Rational64>) -> impl Strategy<Value = Bounds> {
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
        Just((ControlId(3), Position::Low)),
        Just((ControlId(4), Position::Low)),
        Just((ControlId(4), Position::Centre)),
        Just((ControlId(4), Position::High)),
    ]
}

/// Conditions over controls, the named conditions below `named` and the channels below `channels`.
pub(in crate::signal) fn condition(named: u16, channels: u16) -> BoxedStrategy<Condition> {
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
    let ends = prop::sample::select(vec![(-100_i64, 100_i64), (-100, 100), (-40, 90), (-120, 60), (20, 100)]);
    let levels = prop::sample::select(vec![0_u32, 2, 3, 7]);
    let output = (any::<bool>(), prop::sample::select(vec![0_i64, 10]), levels, ends);
    (prop::collection::vec(line, 1..3), output)
        .prop_map(move |(lines, (reversed, subtrim, levels, ends))| Channel {
            reversed,
            subtrim: whole(subtrim),
            ends: (whole(ends.0), whole(ends.1)),
            carriage: if levels == 0 { Carriage::Unchanged } else { Carriage::Levels(levels) },
            ..Channel::of(number, lines)
        })
        .boxed()
}

/// Random parts: three conditions or latches (each may look at those before), three channels likewise.
pub(in crate::signal) fn parts() -> impl Strategy<Value = Parts> {
    let named = |i: u16| {
        (0..5, condition(i, 0), condition(i, 0)).prop_map(move |(kind, a, b)| Named {
            name: format!("c{i}").into(),
            kind: match kind {
                0 => NamedKind::Toggle(a),
                1 | 2 => NamedKind::Latch { set: a, reset: b },
                _ => NamedKind::Plain(a),
            },
        })
    };
    let curve = Curve {
        name: "soft".into(),
        points: [(-100, -100), (-60, 20), (30, -40), (100, 90)].map(|(x, y)| (whole(x), whole(y))).to_vec(),
        rounded: false,
    };
    let expo = prop::sample::select(vec![30_i64, -50]);
    let rates = (any::<bool>(), expo, prop::option::of(position()), any::<bool>());
    let channels = (channel(1, 3), channel(2, 3), channel(3, 3));
    ((named(0), named(1), named(2)), channels, rates).prop_map(move |(c, ch, (shaped, expo, when, reported))| {
        let mut controls = controls();
        if reported {
            controls[2] = Control::reported("told");
        }
        let when = when.map(|(id, at)| Condition::At(id, at));
        if let (ControlKind::Stick { rates, .. }, true) = (&mut controls[3].kind, shaped) {
            rates.push(Rate { rate: whole(70), expo: whole(expo), when });
        }
        Parts {
            controls,
            curves: vec![curve.clone()],
            conditions: vec![c.0, c.1, c.2],
            channels: vec![ch.0, ch.1, ch.2],
            ..Parts::default()
        }
    })
}

/// Numbers the `held` conditions as a settings file's are: one number for each, however often it is written.
fn number(condition: &mut Condition, timers: &mut Vec<Condition>) {
    match condition {
        Condition::Not(of) => number(of, timers),
        Condition::All(of) | Condition::Any(of) => of.iter_mut().for_each(|c| number(c, timers)),
        Condition::Held(place, of) => {
            number(of, timers);
            let known = timers.iter().position(|known| known == &**of);
            *place = known.unwrap_or(timers.len()) as u8;
            if known.is_none() {
                timers.push((**of).clone());
            }
        }
        _ => {}
    }
}

/// Random parts, and conditions over them.
pub(in crate::signal) fn asked<const N: usize>() -> impl Strategy<Value = (Parts, [Condition; N])> {
    (parts(), [(); N].map(|()| condition(3, 3))).prop_map(|(mut parts, mut asked)| {
        let mut timers = Vec::new();
        for named in &mut parts.conditions {
            match &mut named.kind {
                NamedKind::Plain(of) | NamedKind::Toggle(of) => number(of, &mut timers),
                NamedKind::Latch { set, reset } => [set, reset].into_iter().for_each(|c| number(c, &mut timers)),
            }
        }
        let lines = parts.channels.iter_mut().flat_map(|channel| &mut channel.lines);
        lines.filter_map(|line| line.when.as_mut()).for_each(|c| number(c, &mut timers));
        asked.iter_mut().for_each(|c| number(c, &mut timers));
        (parts, asked)
    })
}
