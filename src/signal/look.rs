//! Looks at the parts that settle what would else be put as a question. Each says on which side it errs.

use super::parts::*;
use super::program::{Program, positions, switch_value};
use super::real::{Exact, Real};
use super::state::{Handle, Setting};

/// The most values of a part of a channel's value that are listed.
const MOST_VALUES: usize = 32;

/// What a channel's values and conditions name, also by way of other channels and conditions.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Mentions {
    /// Every control; some may move nothing.
    pub controls: Vec<ControlId>,
    /// Whether a latch is among the conditions.
    pub latches: bool,
    /// The channel itself.
    channel: u16,
    /// Others, each looked at once.
    channels: Vec<u16>,
    conditions: Vec<ConditionId>,
}

impl Program {
    /// What a channel names; nothing where the model does not define it. The controls that [`Self::moved_by`] finds are
    /// among them.
    pub fn mentions(&self, channel: u16) -> Mentions {
        let mut found = Mentions { channel, ..Mentions::default() };
        if let Some(channel) = self.channel(channel) {
            found.lines(self, channel);
        }
        found
    }

    /// Whether a control can change a channel's value, as [`Self::moved_by`] says.
    pub fn moves(&self, control: ControlId, channel: u16) -> bool {
        self.mentions(channel).controls.contains(&control) && self.moved_by(channel).contains(&control)
    }

    /// Where a handle rests; `None` for a control that is not there.
    pub fn rests_at(&self, handle: Handle) -> Option<Setting> {
        self.rest.get(handle)
    }

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
            Value::Channel(_) => false,
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
        let mut is_other = |value: Real| {
            let pulse = self.arrives(index, &self.outputs[index].sent(&value)).map(Exact)?;
            (!is_so(&pulse)).then_some(())
        };
        let mut lines = channel.lines.iter();
        let lines = lines.try_for_each(|line| self.could_be(&line.value, &mut is_other));
        // Where no line holds it is 0 %.
        lines.is_some() && (channel.lines.iter().any(|line| line.when.is_none()) || is_other(Real::ZERO).is_some())
    }

    /// Tells every value that constants and switches can give.
    fn could_be(&self, value: &Value, tell: &mut dyn FnMut(Real) -> Option<()>) -> Option<()> {
        let all = |value: &Value| {
            let mut values = Vec::new();
            self.could_be(value, &mut |value| add(&mut values, value))?;
            Some(values)
        };
        let mut each = |a: &Value, b: &Value, of: &dyn Fn(&Real, &Real) -> Real| {
            let (a, b) = (all(a)?, all(b)?);
            a.iter().try_for_each(|a| b.iter().try_for_each(|b| tell(of(a, b))))
        };
        match value {
            Value::Percent(number) => tell(Real::of(*number)),
            Value::Control(id) | Value::Unshaped(id) => {
                let n = positions(&self.parts.controls.get(usize::from(id.0))?.kind)?;
                (0..n).try_for_each(|at| tell(Real::of(switch_value(u8::try_from(at).ok()?, n))))
            }
            Value::Channel(_) => None,
            Value::Curve(id, of) => {
                let shape = self.shapes.get(usize::from(id.0))?;
                all(of)?.iter().try_for_each(|x| tell(shape.at(x)))
            }
            Value::Negate(of) => all(of)?.iter().try_for_each(|x| tell(x.negate())),
            Value::Min(a, b) => each(a, b, &|a, b| a.clone().min(b.clone())),
            Value::Max(a, b) => each(a, b, &|a, b| a.clone().max(b.clone())),
            Value::Add(a, b) => each(a, b, &Real::add),
            Value::Subtract(a, b) => each(a, b, &Real::sub),
            Value::Multiply(a, b) => each(a, b, &Real::of_percents),
        }
    }
}

fn add(list: &mut Vec<Real>, value: Real) -> Option<()> {
    if !list.contains(&value) {
        (list.len() < MOST_VALUES).then(|| list.push(value))?;
    }
    Some(())
}

impl Mentions {
    fn channel(&mut self, program: &Program, number: u16) {
        if number == self.channel || self.channels.contains(&number) {
            return;
        }
        if let Some(channel) = program.channel(number) {
            self.channels.push(number);
            self.lines(program, channel);
        }
    }

    fn lines(&mut self, program: &Program, channel: &Channel) {
        for line in &channel.lines {
            self.value(program, &line.value);
            line.when.iter().for_each(|when| self.condition(program, when));
        }
    }

    fn value(&mut self, program: &Program, value: &Value) {
        match value {
            Value::Percent(_) => {}
            Value::Control(id) => {
                // A stick that was there before has had its rates looked at, unless it was there unshaped.
                self.control(*id);
                if let Some(ControlKind::Stick { rates, .. }) =
                    program.parts.controls.get(usize::from(id.0)).map(|c| &c.kind)
                {
                    rates.iter().filter_map(|rate| rate.when.as_ref()).for_each(|when| self.condition(program, when));
                }
            }
            Value::Unshaped(id) => self.control(*id),
            Value::Channel(number) => self.channel(program, *number),
            Value::Curve(_, of) | Value::Negate(of) => self.value(program, of),
            Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
                self.value(program, a);
                self.value(program, b);
            }
        }
    }

    fn condition(&mut self, program: &Program, condition: &Condition) {
        match condition {
            Condition::Constant(_) => {}
            Condition::At(id, _) | Condition::Becomes(id, _) | Condition::Axis(id, _) => self.control(*id),
            Condition::Channel(number, ..) => self.channel(program, *number),
            Condition::Mode(id, _) => {
                let mode = program.parts.modes.get(usize::from(id.0));
                mode.iter().flat_map(|mode| &mode.ranges).for_each(|&(number, ..)| self.channel(program, number));
            }
            Condition::Named(id) => self.named(program, *id),
            Condition::Not(of) | Condition::Held(_, of) => self.condition(program, of),
            Condition::All(of) | Condition::Any(of) => of.iter().for_each(|part| self.condition(program, part)),
        }
    }

    fn named(&mut self, program: &Program, id: ConditionId) {
        let Some(named) = program.parts.conditions.get(usize::from(id.0)) else { return };
        if self.conditions.contains(&id) {
            return;
        }
        self.conditions.push(id);
        match &named.kind {
            NamedKind::Plain(condition) => self.condition(program, condition),
            NamedKind::Latch { set, reset } => {
                self.latches = true;
                self.condition(program, set);
                self.condition(program, reset);
            }
        }
    }

    fn control(&mut self, id: ControlId) {
        if !self.controls.contains(&id) {
            self.controls.push(id);
        }
    }
}
