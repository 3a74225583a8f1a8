//! Random models that are tangled: values three deep, latches in chains, channels of channels, bent curves and products.

use crate::random_models::dice::Dice;
use walkaround::signal::*;

const PERCENTS: [i64; 12] = [-100, -75, -50, -33, -20, 0, 10, 25, 40, 60, 80, 100];

/// A random model that a program can be made of.
pub(crate) fn model(dice: &mut Dice) -> Program {
    loop {
        if let Ok(program) = Program::new(grow(dice)) {
            return program;
        }
    }
}

fn percent(dice: &mut Dice) -> Rational64 {
    whole(*dice.pick(&PERCENTS))
}

fn grow(dice: &mut Dice) -> Parts {
    let trimmed = |name: &str, function, rates| {
        let mut stick = Control::stick(name, function);
        stick.kind =
            ControlKind::Stick { function, trim: Some(whole(20)), rates, sprung: function != Function::Throttle };
        stick
    };
    let rate = |dice: &mut Dice| Rate { rate: whole(70), expo: whole(*dice.pick(&[0, 30, 60])), when: None };
    let (one, other) = (rate(dice), rate(dice));
    let mut parts = Parts {
        controls: vec![
            trimmed("roll", Function::Roll, vec![one]),
            trimmed("pitch", Function::Pitch, vec![other]),
            Control::stick("throttle", Function::Throttle),
            Control::axis("dial"),
            Control::switch("left-front", &["up", "down"]),
            Control::switch("left-rear", &["up", "middle", "down"]),
            Control::switch("rotary", &["1", "2", "3", "4", "5"]),
            Control::button("trigger"),
        ],
        ..Parts::default()
    };
    for rounded in [false, true] {
        let points = [-100, -40, 20, 100].map(|x| (whole(x), percent(dice))).to_vec();
        parts.curves.push(Curve { name: "bend".into(), points, rounded });
    }
    for at in 0..2 + dice.below(3) {
        let mut set = Condition::becomes(ControlId(4 + dice.below(3) as u16), 1);
        if at > 0 && dice.chance(70) {
            set = set.and(Condition::Named(ConditionId(at as u16 - 1)));
        }
        if dice.chance(30) {
            set = set.and(Condition::At(ControlId(2), Position::Low));
        }
        let reset = Condition::at(ControlId(4 + dice.below(4) as u16), 0);
        let kind = match dice.chance(20) {
            true => NamedKind::Toggle(set),
            false => NamedKind::Latch { set, reset },
        };
        parts.conditions.push(Named { name: "latch".into(), kind });
    }
    let channels = 5 + dice.below(4) as u16;
    for number in 1..=channels {
        let mut lines = Vec::new();
        for _ in 0..dice.below(3) {
            lines.push(Line::when(value(dice, number, 2), condition(dice, &parts, number)));
        }
        lines.push(Line::always(value(dice, number, 3)));
        let mut channel = Channel::of(number, lines);
        if dice.chance(50) {
            channel = channel.levels(*dice.pick(&[2, 5, 60, 201]));
        }
        parts.channels.push(channel);
    }
    for name in ["arm", "level"] {
        let ranges = vec![(1 + dice.below(usize::from(channels)) as u16, whole(1660), whole(2140))];
        parts.modes.push(Mode { name: name.into(), any_of: vec![ranges], unknown: None });
    }
    parts
}

/// A value that looks only at channels before this one.
fn value(dice: &mut Dice, channel: u16, depth: usize) -> Value {
    if depth == 0 || dice.chance(20) {
        return match dice.below(10) {
            0 | 1 => Value::Percent(percent(dice)),
            2..=4 if channel > 1 => Value::Channel(1 + dice.below(usize::from(channel) - 1) as u16),
            5 => Value::Unshaped(ControlId(dice.below(4) as u16)),
            _ => Value::Control(ControlId(dice.below(7) as u16)),
        };
    }
    let one = value(dice, channel, depth - 1);
    match dice.below(9) {
        0 | 1 => one.plus(value(dice, channel, depth - 1)),
        2 => one.minus(value(dice, channel, depth - 1)),
        3 | 4 => one.times(value(dice, channel, depth - 1)),
        5 => Value::Min(Box::new(one), Box::new(value(dice, channel, depth - 1))),
        6 => Value::Max(Box::new(one), Box::new(value(dice, channel, depth - 1))),
        7 => one.through(CurveId(dice.below(2) as u16)),
        _ => Value::Negate(Box::new(one)),
    }
}

fn condition(dice: &mut Dice, parts: &Parts, channel: u16) -> Condition {
    let found = match dice.below(6) {
        0 => Condition::at(ControlId(4 + dice.below(4) as u16), dice.below(2) as u8),
        1 if channel > 1 => {
            let bounds = Bounds::above(percent(dice));
            Condition::Channel(1 + dice.below(usize::from(channel) - 1) as u16, Measure::Percent, bounds)
        }
        2 => Condition::Axis(ControlId(dice.below(4) as u16), Bounds::below(percent(dice))),
        _ => Condition::Named(ConditionId(dice.below(parts.conditions.len()) as u16)),
    };
    if dice.chance(30) { found.not() } else { found }
}

/// A random question about such a model: one moment, or one movement.
pub(crate) fn question(dice: &mut Dice, parts: &Parts) -> Question {
    let channels = parts.channels.len() as u16;
    let asked = |dice: &mut Dice| {
        let channel = 1 + dice.below(usize::from(channels)) as u16;
        let at = whole(*dice.pick(&[1003, 1080, 1160, 1290, 1502, 1660, 1777, 1990]));
        match dice.below(4) {
            0 => Condition::mode(ModeId(dice.below(2) as u16)),
            1 => Condition::received(channel, Bounds::below(at)),
            2 => Condition::received(channel, Bounds::between(at, whole(at.ratio().0 + 40))),
            _ => Condition::received(channel, Bounds::above(at)),
        }
    };
    let mut state = asked(dice);
    if dice.chance(50) {
        state = state.and(condition(dice, parts, channels + 1));
    }
    if dice.chance(30) {
        state = state.and(asked(dice));
    }
    let question = Question::is(state);
    match dice.below(4) {
        0 => question.then(Movers::SwitchesAndButtons, asked(dice)),
        _ => question,
    }
}
