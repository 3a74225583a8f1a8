//! Random models of the linear part of the language, and random questions about them.

use super::dice::Dice;
use walkaround::signal::*;

/// Regions that are looked at before a question about these models is given up: fewer than the program's own, since values
/// that join several axes several times are harder than what is flown, and a debug build is slow.
pub(crate) const BUDGET: u64 = 500;

/// A model as it grows: conditions and channels look only at those made before them.
struct Grower<'a> {
    dice: &'a mut Dice,
    parts: Parts,
    /// Few things become, since each doubles what can have been before.
    tests: Vec<(ControlId, Position)>,
}

const PERCENTS: [(i64, i64); 17] = [
    (-100, 1),
    (-95, 1),
    (-200, 3),
    (-60, 1),
    (-50, 1),
    (-100, 3),
    (-31, 1),
    (0, 1),
    (1, 10),
    (25, 2),
    (25, 1),
    (100, 3),
    (50, 1),
    (60, 1),
    (200, 3),
    (99, 1),
    (100, 1),
];

/// Pulses that are ends, levels and middles between the levels of links with 2, 3, 4, 5 and 7 levels.
const PULSES: [(i64, i64); 17] = [
    (1000, 1),
    (1001, 1),
    (3250, 3),
    (1125, 1),
    (3500, 3),
    (1203, 1),
    (1250, 1),
    (4000, 3),
    (1375, 1),
    (1500, 1),
    (1501, 1),
    (1625, 1),
    (5000, 3),
    (1750, 1),
    (1802, 1),
    (5500, 3),
    (2000, 1),
];

const NAMES: [&str; 6] = ["up", "down", "1", "2", "3", "middle"];

/// A random model that a program can be made of.
pub(crate) fn model(dice: &mut Dice) -> Program {
    loop {
        let parts = grow(dice);
        // Constants can multiply to numbers finer than a program takes, and a rate may feed itself: such parts are refused.
        if let Ok(program) = Program::new(parts) {
            return program;
        }
    }
}

fn grow(dice: &mut Dice) -> Parts {
    let mut controls = vec![
        Control::switch("left-front", &NAMES[..2]),
        Control::switch("left-rear", &NAMES[..3]),
        Control::stick("roll", Function::Roll),
        Control::stick("throttle", Function::Throttle),
    ];
    if dice.chance(50) {
        controls.push(Control::switch("rotary", &NAMES[..5]));
    }
    if dice.chance(30) {
        controls.push(Control::button("trigger"));
    }
    if dice.chance(40) {
        controls.push(Control::axis("dial"));
    }
    if dice.chance(30) {
        controls.push(Control::reported("told"));
    }
    let mut grower = Grower { dice, parts: Parts { controls, ..Parts::default() }, tests: Vec::new() };
    for _ in 0..grower.dice.below(4) {
        let test = grower.position();
        grower.tests.push(test);
    }
    grower.scale();
    grower.curves();
    let mut latches = 0;
    if grower.dice.chance(30) {
        grower.channel(Parts::mix(0));
    }
    let channels = 2 + grower.dice.below(3);
    for number in 1..=channels {
        for _ in 0..grower.dice.below(3) {
            grower.named(&mut latches);
        }
        grower.channel(number as u16);
    }
    grower.rates();
    grower.modes();
    grower.parts
}

impl Grower<'_> {
    fn percent(&mut self) -> Rational64 {
        let (top, bottom) = *self.dice.pick(&PERCENTS);
        Rational64::new(top, bottom).unwrap()
    }

    fn pulse(&mut self) -> Rational64 {
        let (top, bottom) = *self.dice.pick(&PULSES);
        Rational64::new(top, bottom).unwrap()
    }

    fn control(&mut self) -> ControlId {
        ControlId(self.dice.below(self.parts.controls.len()) as u16)
    }

    fn axis(&mut self) -> ControlId {
        loop {
            let id = self.control();
            if super::smt::switch_values(&self.parts.controls[usize::from(id.0)]).is_none() {
                return id;
            }
        }
    }

    fn position(&mut self) -> (ControlId, Position) {
        let id = self.control();
        match super::smt::switch_values(&self.parts.controls[usize::from(id.0)]) {
            Some(values) => (id, Position::Index(self.dice.below(values.len()) as u8)),
            None => (id, *self.dice.pick(&[Position::Low, Position::Low, Position::Centre, Position::High])),
        }
    }

    fn scale(&mut self) {
        if self.dice.chance(20) {
            self.parts.scale = Scale { centre: whole(1512), span: whole(400) };
        }
    }

    fn curves(&mut self) {
        let shapes: [&[(i64, i64)]; 4] = [
            &[(-100, -100), (-60, 20), (30, -40), (100, 90)],
            &[(-100, 100), (100, -100)],
            &[(-50, -100), (0, 0), (50, 100)],
            &[(-100, 0), (0, 0), (100, 80)],
        ];
        for points in &shapes[..1 + self.dice.below(shapes.len())] {
            let points = points.iter().map(|&(x, y)| (whole(x), whole(y))).collect();
            self.parts.curves.push(Curve { name: "soft".into(), points, rounded: false });
        }
    }

    fn named(&mut self, latches: &mut u32) {
        let kind = if *latches < 2 && self.dice.chance(60) {
            *latches += 1;
            if self.dice.chance(30) {
                NamedKind::Toggle(self.condition(1))
            } else {
                NamedKind::Latch { set: self.condition(1), reset: self.condition(1) }
            }
        } else {
            NamedKind::Plain(self.condition(2))
        };
        self.parts.conditions.push(Named { name: format!("c{}", self.parts.conditions.len()).into(), kind });
    }

    fn bounds(&mut self, at: Rational64, other: Rational64) -> Bounds {
        match self.dice.below(5) {
            0 => Bounds::above(at),
            1 => Bounds::below(at),
            2 => Bounds::at_least(at),
            3 => Bounds::at_most(at),
            _ => Bounds::between(at.min(other), at.max(other)),
        }
    }

    fn condition(&mut self, depth: usize) -> Condition {
        if depth > 0 && self.dice.chance(60) {
            let of = |grower: &mut Self| {
                let count = 2 + grower.dice.below(2);
                (0..count).map(|_| grower.condition(depth - 1)).collect::<Vec<_>>()
            };
            return match self.dice.below(5) {
                0 => self.condition(depth - 1).not(),
                1 | 2 => Condition::Any(of(self)),
                _ => Condition::All(of(self)),
            };
        }
        loop {
            match self.dice.below(6) {
                0 => {
                    let (id, at) = self.position();
                    return Condition::At(id, at);
                }
                1 if !self.tests.is_empty() => {
                    let (id, at) = *self.dice.pick(&self.tests);
                    return Condition::Becomes(id, at);
                }
                2 => {
                    let (id, at, other) = (self.axis(), self.percent(), self.percent());
                    return Condition::Axis(id, self.bounds(at, other));
                }
                3 if !self.parts.conditions.is_empty() => {
                    return Condition::Named(ConditionId(self.dice.below(self.parts.conditions.len()) as u16));
                }
                4 if !self.parts.modes.is_empty() => {
                    return Condition::mode(ModeId(self.dice.below(self.parts.modes.len()) as u16));
                }
                5 if self.parts.channels.iter().any(|channel| !channel.is_mix()) => return self.channel_condition(),
                _ => {}
            }
        }
    }

    fn channel_condition(&mut self) -> Condition {
        let channel = self.carried();
        let measure = *self.dice.pick(&[Measure::Percent, Measure::Sent, Measure::Received, Measure::Received]);
        let (at, other) = match measure {
            Measure::Percent => (self.percent(), self.percent()),
            Measure::Sent | Measure::Received => (self.pulse(), self.pulse()),
        };
        Condition::Channel(channel, measure, self.bounds(at, other))
    }

    /// The number of a channel that is no mix.
    fn carried(&mut self) -> u16 {
        let numbers = self.parts.channels.iter().map(|channel| channel.number);
        *self.dice.pick(&numbers.filter(|&number| number <= Parts::MIXES).collect::<Vec<_>>())
    }

    fn value(&mut self, depth: usize) -> Value {
        if depth > 0 && self.dice.chance(65) {
            let next = |grower: &mut Self| grower.value(depth - 1);
            return match self.dice.below(8) {
                0 | 1 => next(self).plus(next(self)),
                2 => next(self).minus(next(self)),
                3 => Value::Min(Box::new(next(self)), Box::new(next(self))),
                4 => Value::Max(Box::new(next(self)), Box::new(next(self))),
                5 => {
                    let constant = self.constant();
                    constant.times(next(self))
                }
                6 => Value::Negate(Box::new(next(self))),
                _ => {
                    let curve = CurveId(self.dice.below(self.parts.curves.len()) as u16);
                    next(self).through(curve)
                }
            };
        }
        match self.dice.below(6) {
            0 => Value::Percent(self.percent()),
            1 => {
                let id = self.axis();
                Value::Unshaped(id)
            }
            2 if !self.parts.channels.is_empty() => Value::Channel(self.dice.pick(&self.parts.channels).number),
            3 => {
                let switches = [ControlId(0), ControlId(1)];
                let switch = *self.dice.pick(&switches);
                let value = self.value(0);
                Value::Control(switch).times(value)
            }
            _ => Value::Control(self.control()),
        }
    }

    /// A constant, or a product of constants.
    fn constant(&mut self) -> Value {
        let one = Value::Percent(self.percent());
        if self.dice.chance(40) { one.times(Value::Percent(self.percent())) } else { one }
    }

    fn channel(&mut self, number: u16) {
        let count = 1 + self.dice.below(3);
        let mut lines = Vec::new();
        for at in 0..count {
            let when = (at + 1 < count || self.dice.chance(20)).then(|| self.condition(1));
            lines.push(Line { value: self.value(2), when });
        }
        if number > Parts::MIXES {
            self.parts.channels.push(Channel { carriage: Carriage::Not, ..Channel::of(number, lines) });
            return;
        }
        let ends = *self.dice.pick(&[(-100, 100), (-100, 100), (-80, 95), (-110, 60), (20, 100), (-60, -60)]);
        let travel = *self.dice.pick(&[(-100, 100), (-100, 100), (-150, 150), (-70, 110), (0, 100)]);
        let levels = *self.dice.pick(&[0_u32, 0, 2, 2, 3, 4, 5, 7, 100]);
        let subtrim = *self.dice.pick(&[(0, 1), (0, 1), (10, 1), (-1, 3)]);
        self.parts.channels.push(Channel {
            reversed: self.dice.chance(30),
            subtrim: Rational64::new(subtrim.0, subtrim.1).unwrap(),
            ends: (whole(ends.0), whole(ends.1)),
            travel: (whole(travel.0), whole(travel.1)),
            centre: self.dice.chance(15).then(|| whole(1510)),
            carriage: if levels == 0 { Carriage::Unchanged } else { Carriage::Levels(levels) },
            ..Channel::of(number, lines)
        });
    }

    /// Rates and trims; their conditions look at conditions that are there, and may so feed themselves.
    fn rates(&mut self) {
        for index in 0..self.parts.controls.len() {
            let found = (self.dice.chance(40)).then(|| {
                let when = self.dice.chance(60).then(|| self.condition(0));
                let first = Rate { rate: self.percent(), expo: whole(0), when };
                let open = first.when.is_some() && self.dice.chance(50);
                let second = open.then(|| Rate { rate: self.percent(), expo: whole(0), when: None });
                std::iter::once(first).chain(second).collect::<Vec<_>>()
            });
            let size = *self.dice.pick(&[5, 20]);
            let on = self.dice.chance(30).then(|| whole(size));
            if let ControlKind::Stick { trim, rates, .. } = &mut self.parts.controls[index].kind {
                *trim = on;
                *rates = found.unwrap_or_default();
            }
        }
    }

    fn modes(&mut self) {
        for _ in 0..1 + self.dice.below(2) {
            let mut any_of = Vec::new();
            for _ in 0..1 + self.dice.below(2) {
                let mut ranges = Vec::new();
                for _ in 0..1 + self.dice.below(2) {
                    let channel = self.carried();
                    let (one, other) = (self.pulse(), self.pulse());
                    ranges.push((channel, one.min(other), one.max(other)));
                }
                any_of.push(ranges);
            }
            self.parts.modes.push(Mode { name: "mode".into(), any_of, unknown: None });
        }
    }
}

/// A random condition that a question may hold about a model.
fn asked(dice: &mut Dice, parts: &Parts, depth: usize) -> Condition {
    let tests = super::past::tests(parts, []);
    Grower { dice, parts: parts.clone(), tests }.condition(depth)
}

/// A random question: about one state, or about one movement out of a state, or about two movements out of the same state.
pub(crate) fn question(dice: &mut Dice, parts: &Parts) -> Question {
    let depth = dice.below(3);
    let mut question = Question::is(asked(dice, parts, depth));
    let steps = *dice.pick(&[0, 0, 0, 1, 1, 1, 2]);
    for _ in 0..steps {
        let depth = dice.below(2);
        let reach = asked(dice, parts, depth);
        let who = match dice.below(4) {
            0 => Movers::Any,
            1 => Movers::SwitchesAndButtons,
            2 => Movers::NotSticks,
            _ => Movers::These(vec![ControlId(dice.below(parts.controls.len()) as u16)]),
        };
        question = question.then(who, reach);
    }
    if dice.chance(15) {
        let id = ControlId(dice.below(parts.controls.len()) as u16);
        let kept = match super::smt::switch_values(&parts.controls[usize::from(id.0)]) {
            Some(values) => Kept::At(Setting::Position(dice.below(values.len()) as u8)),
            None => *dice.pick(&[Kept::At(Setting::Percent(whole(0))), Kept::Within(whole(-50), whole(30))]),
        };
        question = question.keeping(Handle::Control(id), kept);
    }
    question
}

/// A random condition for a range to be taken under: often none.
pub(crate) fn given(dice: &mut Dice, parts: &Parts) -> Condition {
    if dice.chance(40) { Condition::Constant(true) } else { asked(dice, parts, 1) }
}
