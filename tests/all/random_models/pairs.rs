//! Pairs of random models: the second is the first with a few changes, some of which change nothing.

use super::dice::Dice;
use super::models::model;
use walkaround::signal::*;

/// Channels of the first model stand so far above their numbers where both are put together.
pub(crate) const FIRST: u16 = 100;
const FIRST_MIX: u16 = 500;

/// A model, and the same with a few changes.
pub(crate) fn pair(dice: &mut Dice) -> (Program, Program) {
    let one = model(dice);
    loop {
        let mut parts = one.parts().clone();
        for _ in 0..1 + dice.below(3) {
            change(dice, &mut parts);
        }
        if let Ok(other) = Program::new(parts) {
            return (one, other);
        }
    }
}

fn change(dice: &mut Dice, parts: &mut Parts) {
    let channel = dice.below(parts.channels.len());
    let line = dice.below(parts.channels[channel].lines.len());
    let percent = whole(dice.below(201) as i64 - 100);
    let at = &mut parts.channels[channel];
    let value = &mut at.lines[line].value;
    let old = std::mem::replace(value, Value::percent(0));
    *value = match dice.below(9) {
        // The same in other words.
        0 => Value::Negate(Box::new(Value::Negate(Box::new(old)))),
        1 => Value::percent(0).plus(old),
        2 => Value::percent(50).times(Value::percent(200).times(old)),
        3 => Value::Min(Box::new(old.clone()), Box::new(old)),
        4 => Value::Max(Box::new(Value::Percent(whole(-1000))), Box::new(old)),
        // Another value.
        5 => old.plus(Value::Percent(percent)),
        6 => Value::Percent(percent).times(old),
        _ => old,
    };
    match dice.below(12) {
        0 => at.reversed = !at.reversed,
        1 => at.travel = (whole(-70), whole(90)),
        2 => at.ends = (whole(-90), whole(100)),
        3 => at.lines.reverse(),
        // A line behind one that always holds, and one that never does before all.
        4 => at.lines.push(Line::always(Value::Percent(percent))),
        5 => at.lines.insert(0, Line::when(Value::Percent(percent), Condition::Constant(false))),
        6 => at.subtrim = whole(1),
        7 => {
            for named in &mut parts.conditions {
                named.kind = match named.kind.clone() {
                    NamedKind::Plain(of) => NamedKind::Plain(of.not().not()),
                    NamedKind::Toggle(of) => NamedKind::Toggle(of.clone().and(of)),
                    NamedKind::Latch { set, reset } => NamedKind::Latch { set: set.clone().or(set), reset },
                };
            }
        }
        8 => {
            for named in &mut parts.conditions {
                if let NamedKind::Latch { set, reset } = &mut named.kind {
                    std::mem::swap(set, reset);
                }
            }
        }
        9 => {
            for control in &mut parts.controls {
                if let ControlKind::Stick { rates, .. } = &mut control.kind {
                    rates.iter_mut().for_each(|rate| rate.rate = rate.rate.negate());
                }
            }
        }
        10 if !at.is_mix() => at.carriage = Carriage::Levels(*dice.pick(&[2, 3, 5])),
        _ => {}
    }
}

/// Both models as one, the controls of the first behind those of the second: for the solver, written apart from the program under
/// test.
pub(crate) fn together(first: &Parts, second: &Parts) -> Parts {
    let moved = Moved {
        controls: second.controls.len() as u16,
        conditions: second.conditions.len() as u16,
        curves: second.curves.len() as u16,
        modes: second.modes.len() as u16,
    };
    let mut all = second.clone();
    all.controls.extend(first.controls.iter().map(|control| {
        let mut control = control.clone();
        if let ControlKind::Stick { rates, .. } = &mut control.kind {
            rates.iter_mut().filter_map(|rate| rate.when.as_mut()).for_each(|when| *when = moved.condition(when));
        }
        control
    }));
    all.curves.extend(first.curves.iter().cloned());
    all.conditions.extend(first.conditions.iter().map(|named| {
        let kind = match &named.kind {
            NamedKind::Plain(of) => NamedKind::Plain(moved.condition(of)),
            NamedKind::Toggle(of) => NamedKind::Toggle(moved.condition(of)),
            NamedKind::Latch { set, reset } => {
                NamedKind::Latch { set: moved.condition(set), reset: moved.condition(reset) }
            }
        };
        Named { name: named.name.clone(), kind }
    }));
    all.channels.extend(first.channels.iter().map(|channel| {
        let line = |line: &Line| Line {
            value: moved.value(&line.value),
            when: line.when.as_ref().map(|when| moved.condition(when)),
        };
        let lines = channel.lines.iter().map(line).collect();
        Channel { number: moved.channel(channel.number), lines, ..channel.clone() }
    }));
    all.modes.extend(first.modes.iter().map(|mode| {
        let mut mode = mode.clone();
        mode.any_of.iter_mut().flatten().for_each(|test| test.0 = moved.channel(test.0));
        mode
    }));
    all
}

/// In one moment every control of the first model stands where that of the second does.
pub(crate) fn ties(first: &Parts, moment: &str) -> String {
    let count = first.controls.len();
    let mut text = String::new();
    for (at, control) in first.controls.iter().enumerate() {
        text += &format!("(assert (= c{at}_{moment} c{}_{moment}))\n", at + count);
        if super::smt::trim_of(control).is_some() {
            text += &format!("(assert (= t{at}_{moment} t{}_{moment}))\n", at + count);
        }
    }
    text
}

/// How far the numbers of the first model are moved.
struct Moved {
    controls: u16,
    conditions: u16,
    curves: u16,
    modes: u16,
}

impl Moved {
    fn channel(&self, number: u16) -> u16 {
        number + if number > Parts::MIXES { FIRST_MIX } else { FIRST }
    }

    fn control(&self, id: ControlId) -> ControlId {
        ControlId(id.0 + self.controls)
    }

    fn condition(&self, condition: &Condition) -> Condition {
        let all = |of: &[Condition]| of.iter().map(|of| self.condition(of)).collect();
        match condition {
            Condition::At(id, at) => Condition::At(self.control(*id), *at),
            Condition::Becomes(id, at) => Condition::Becomes(self.control(*id), *at),
            Condition::Axis(id, bounds) => Condition::Axis(self.control(*id), *bounds),
            Condition::Channel(number, measure, bounds) => Condition::Channel(self.channel(*number), *measure, *bounds),
            Condition::Mode(id, measure) => Condition::Mode(ModeId(id.0 + self.modes), *measure),
            Condition::Named(id) => Condition::Named(ConditionId(id.0 + self.conditions)),
            Condition::Not(of) => Condition::Not(Box::new(self.condition(of))),
            Condition::All(of) => Condition::All(all(of)),
            Condition::Any(of) => Condition::Any(all(of)),
            Condition::Constant(_) | Condition::Unknown(_) | Condition::Held(..) => condition.clone(),
        }
    }

    fn value(&self, value: &Value) -> Value {
        let one = |of: &Value| Box::new(self.value(of));
        match value {
            Value::Control(id) => Value::Control(self.control(*id)),
            Value::Unshaped(id) => Value::Unshaped(self.control(*id)),
            Value::Channel(number) => Value::Channel(self.channel(*number)),
            Value::Curve(id, of) => Value::Curve(CurveId(id.0 + self.curves), one(of)),
            Value::Min(a, b) => Value::Min(one(a), one(b)),
            Value::Max(a, b) => Value::Max(one(a), one(b)),
            Value::Add(a, b) => Value::Add(one(a), one(b)),
            Value::Subtract(a, b) => Value::Subtract(one(a), one(b)),
            Value::Multiply(a, b) => Value::Multiply(one(a), one(b)),
            Value::Negate(of) => Value::Negate(one(of)),
            Value::Percent(_) | Value::Unknown(_) => value.clone(),
        }
    }
}
