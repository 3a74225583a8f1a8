//! What a channel depends on, by name.

use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::*;
use crate::signal::program::reason::Unknown;
use crate::signal::program::state::{Handle, Setting};

/// What a channel's values and conditions name, also by way of other channels and conditions.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Mentions {
    /// Every control; some may move nothing.
    pub controls: Vec<ControlId>,
    /// Whether a latch is among the conditions.
    pub latches: bool,
    /// A part that is not known.
    pub(in crate::signal) unknown: Option<UnknownId>,
    /// The channel itself, if one is looked at.
    channel: Option<u16>,
    /// Others, each looked at once.
    channels: Vec<u16>,
    conditions: Vec<ConditionId>,
}

impl Compiled {
    /// What a channel names; nothing where the model does not define it. The controls that can change it are
    /// among them.
    pub fn mentions(&self, channel: u16) -> Mentions {
        let mut found = Mentions { channel: Some(channel), ..Mentions::default() };
        if let Some(channel) = self.channel(channel) {
            found.lines(self, channel);
        }
        found
    }

    /// A part that is not known among what conditions and a channel with its measure depend on. What is read is not known
    /// then, even where every value of that part would give the same.
    pub(in crate::signal) fn unknown_among<'c>(
        &self,
        conditions: impl IntoIterator<Item = &'c Condition>,
        channel: Option<(u16, Measure)>,
    ) -> Option<&Unknown> {
        if self.parts.unknown.is_empty() {
            return None;
        }
        let mut found = Mentions::default();
        conditions.into_iter().for_each(|condition| found.condition(self, condition));
        channel.iter().for_each(|&(number, measure)| found.measure(self, number, measure));
        self.parts.unknown.get(usize::from(found.unknown?.0))
    }

    /// Where a handle rests; `None` for a control that is not there.
    pub fn rests_at(&self, handle: Handle) -> Option<Setting> {
        self.rest.get(handle)
    }
}

impl Mentions {
    fn channel(&mut self, program: &Compiled, number: u16) {
        if self.channel == Some(number) || self.channels.contains(&number) {
            return;
        }
        match program.channel(number) {
            Some(channel) => {
                self.channels.push(number);
                self.lines(program, channel);
            }
            None => self.unknown(program.parts.elsewhere),
        }
    }

    fn measure(&mut self, program: &Compiled, number: u16, measure: Measure) {
        if let (Measure::Received, Some(Carriage::Unknown(id))) =
            (measure, program.channel(number).map(|channel| channel.carriage))
        {
            self.unknown(Some(id));
        }
        self.channel(program, number);
    }

    fn unknown(&mut self, id: Option<UnknownId>) {
        self.unknown = self.unknown.or(id);
    }

    fn lines(&mut self, program: &Compiled, channel: &Channel) {
        for line in &channel.lines {
            self.value(program, &line.value);
            line.when.iter().for_each(|when| self.condition(program, when));
        }
    }

    fn value(&mut self, program: &Compiled, value: &Value) {
        match value {
            Value::Percent(_) => {}
            Value::Unknown(id) => self.unknown(Some(*id)),
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

    fn condition(&mut self, program: &Compiled, condition: &Condition) {
        match condition {
            Condition::Constant(_) => {}
            Condition::Unknown(id) => self.unknown(Some(*id)),
            Condition::At(id, _) | Condition::Becomes(id, _) | Condition::Axis(id, _) => self.control(*id),
            Condition::Channel(number, measure, _) => self.measure(program, *number, *measure),
            Condition::Mode(id, measure) => {
                let Some(mode) = program.parts.modes.get(usize::from(id.0)) else { return };
                self.unknown(mode.unknown);
                mode.any_of.iter().flatten().for_each(|&(number, ..)| self.measure(program, number, *measure));
            }
            Condition::Named(id) => self.named(program, *id),
            Condition::Not(of) | Condition::Held(_, of) => self.condition(program, of),
            Condition::All(of) | Condition::Any(of) => of.iter().for_each(|part| self.condition(program, part)),
        }
    }

    fn named(&mut self, program: &Compiled, id: ConditionId) {
        let Some(named) = program.parts.conditions.get(usize::from(id.0)) else { return };
        if self.conditions.contains(&id) {
            return;
        }
        self.conditions.push(id);
        match &named.kind {
            NamedKind::Plain(condition) => self.condition(program, condition),
            NamedKind::Toggle(on) => {
                self.latches = true;
                self.condition(program, on);
            }
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
