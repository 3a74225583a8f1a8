//! What the parts alone settle of all states, without a search. Each says on which side it errs.

use crate::signal::number::rational::{Exact, Rational};
use crate::signal::program::compiled::{Compiled, switch_value};
use crate::signal::program::parts::*;

/// The most values of a part of a channel's value that are listed.
const MOST_VALUES: usize = 32;

impl Compiled {
    /// The pulse that arrives whenever the sticks with a centre and their trims are centred, where that is one pulse: on a
    /// channel that hangs on nothing else. `None` elsewhere, and where nothing is received.
    pub fn centred(&self, channel: u16) -> Option<Exact> {
        match self.channel(channel)?.lines.as_slice() {
            // A trim that is centred adds nothing, and rates, whichever hold, leave a centred stick where it is.
            [line] if line.when.is_none() && self.is_of_centred(&line.value) => self.read_with(&[], channel)?.received,
            _ => None,
        }
    }

    /// Whether nothing but constants and sticks with a centre stands in a value.
    fn is_of_centred(&self, value: &Value) -> bool {
        match value {
            Value::Percent(_) => true,
            Value::Control(id) | Value::Unshaped(id) => {
                let kind = self.parts.controls.get(usize::from(id.0)).map(|control| &control.kind);
                matches!(kind, Some(ControlKind::Stick { function, .. }) if *function != Function::Throttle)
            }
            Value::Channel(_) | Value::Unknown(_) => false,
            Value::Curve(_, of) | Value::Negate(of) => self.is_of_centred(of),
            Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
                self.is_of_centred(a) && self.is_of_centred(b)
            }
        }
    }

    /// Whether no pulse that is so can arrive on a channel whose values are constants and switches, whatever its conditions
    /// choose. False also where an axis or another channel stands in a value, where values are many, and where
    /// nothing is received.
    pub fn never_arrives(&self, channel: u16, is_so: &dyn Fn(&Exact) -> bool) -> bool {
        let Some(index) = self.channel_index(channel) else { return false };
        let channel = &self.parts.channels[index];
        let mut is_other = |value: Rational| {
            let pulse = self.arrives(index, &self.outputs[index].sent(&value)).map(Exact)?;
            (!is_so(&pulse)).then_some(())
        };
        let mut lines = channel.lines.iter();
        let lines = lines.try_for_each(|line| self.could_be(&line.value, &mut is_other));
        // Where no line holds it is 0 %.
        lines.is_some() && (channel.lines.iter().any(|line| line.when.is_none()) || is_other(Rational::ZERO).is_some())
    }

    /// Tells every value that constants and switches can give.
    fn could_be(&self, value: &Value, tell: &mut dyn FnMut(Rational) -> Option<()>) -> Option<()> {
        let all = |value: &Value| {
            let mut values = Vec::new();
            self.could_be(value, &mut |value| add(&mut values, value))?;
            Some(values)
        };
        let mut each = |a: &Value, b: &Value, of: &dyn Fn(&Rational, &Rational) -> Rational| {
            let (a, b) = (all(a)?, all(b)?);
            a.iter().try_for_each(|a| b.iter().try_for_each(|b| tell(of(a, b))))
        };
        match value {
            Value::Percent(number) => tell(Rational::of(*number)),
            Value::Control(id) | Value::Unshaped(id) => {
                let n = positions(&self.parts.controls.get(usize::from(id.0))?.kind)?;
                (0..n).try_for_each(|at| tell(Rational::of(switch_value(u8::try_from(at).ok()?, n))))
            }
            Value::Channel(_) | Value::Unknown(_) => None,
            Value::Curve(id, of) => {
                let shape = self.shapes.get(usize::from(id.0))?;
                all(of)?.iter().try_for_each(|x| tell(shape.at(x)))
            }
            Value::Negate(of) => all(of)?.iter().try_for_each(|x| tell(x.negate())),
            Value::Min(a, b) => each(a, b, &|a, b| a.clone().min(b.clone())),
            Value::Max(a, b) => each(a, b, &|a, b| a.clone().max(b.clone())),
            Value::Add(a, b) => each(a, b, &Rational::add),
            Value::Subtract(a, b) => each(a, b, &Rational::sub),
            Value::Multiply(a, b) => each(a, b, &Rational::of_percents),
        }
    }
}

fn add(list: &mut Vec<Rational>, value: Rational) -> Option<()> {
    if !list.contains(&value) {
        (list.len() < MOST_VALUES).then(|| list.push(value))?;
    }
    Some(())
}
