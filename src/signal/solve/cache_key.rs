//! Which questions are the same: a question is written as a row of words in which every channel, condition, mode and control
//! stands with all that it hangs on, and nothing else. Two questions of the same row have the same answer, whatever else their
//! models hold, and whatever their names are.

use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::*;
use crate::signal::program::state::{Handle, Setting, Stand};
use crate::signal::simulate::play::End;
use crate::signal::solve::question::{Kept, Movers, Question, Within};
use rustc_hash::FxHashMap;

/// A row of words. The first says what it is a row of, and every list begins with its length, so that no two things have the
/// same row.
pub(in crate::signal) type Row = Box<[u32]>;

/// Rows that have a number, which stands for them in other rows.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Numbers {
    rows: FxHashMap<Row, u32>,
    /// How often all were forgotten.
    age: u32,
}

impl Numbers {
    pub(in crate::signal) fn len(&self) -> usize {
        self.rows.len()
    }

    pub(in crate::signal) const fn age(&self) -> u32 {
        self.age
    }

    pub(in crate::signal) fn forget(&mut self) {
        self.rows.clear();
        self.age = self.age.wrapping_add(1);
    }

    fn of(&mut self, row: &[u32]) -> u32 {
        if let Some(&known) = self.rows.get(row) {
            return known;
        }
        let number = self.rows.len() as u32;
        self.rows.insert(row.into(), number);
        number
    }
}

/// The numbers of a program's parts, as far as they were asked for.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct Ids {
    age: u32,
    /// By index; sticks with their rates.
    shaped: Vec<Id>,
    channels: Vec<Id>,
    conditions: Vec<Id>,
    modes: Vec<Id>,
    curves: Vec<Id>,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Id {
    New,
    /// It is being written: what hangs on itself has no row.
    Open,
    Numbered(u32),
}

/// What can't be written: a reference that points nowhere, or something that hangs on itself.
#[derive(Clone, Copy, Debug)]
pub(in crate::signal) struct NoRow;

pub(in crate::signal) type Written = Result<(), NoRow>;

/// Writes rows.
pub(in crate::signal) struct Writer<'a> {
    program: &'a Compiled,
    numbers: &'a mut Numbers,
    ids: &'a mut Ids,
    words: &'a mut Vec<u32>,
}

impl<'a> Writer<'a> {
    pub(in crate::signal) fn new(
        program: &'a Compiled,
        numbers: &'a mut Numbers,
        ids: &'a mut Ids,
        words: &'a mut Vec<u32>,
    ) -> Self {
        let parts = &program.parts;
        if ids.age != numbers.age || ids.shaped.len() != parts.controls.len() {
            let new = |count: usize| vec![Id::New; count];
            *ids = Ids {
                age: numbers.age,
                shaped: new(parts.controls.len()),
                channels: new(parts.channels.len()),
                conditions: new(parts.conditions.len()),
                modes: new(parts.modes.len()),
                curves: new(parts.curves.len()),
            };
        }
        words.clear();
        Self { program, numbers, ids, words }
    }

    /// The row of a question.
    pub(in crate::signal) fn question(&mut self, question: &Question) -> Written {
        self.words.push(0);
        self.condition(&question.state)?;
        self.words.push(question.then.len() as u32);
        for step in &question.then {
            self.movers(&step.who)?;
            match step.to {
                Some(to) => self.setting(to),
                None => self.words.push(2),
            }
            self.condition(&step.reach)?;
        }
        self.fixed(&question.fixed)
    }

    /// The row of what a channel reaches.
    pub(in crate::signal) fn range(&mut self, channel: u16, measure: Measure, within: &Within) -> Written {
        self.words.extend([1, measure as u32]);
        self.channel(channel)?;
        self.condition(&within.given)?;
        self.fixed(&within.fixed)
    }

    /// The row of whether nothing leads out of one condition to another.
    pub(in crate::signal) fn trapped(&mut self, inside: &Condition, outside: &Condition) -> Written {
        self.words.push(2);
        self.condition(inside)?;
        self.condition(outside)
    }

    /// The row of what a channel gives as a control is moved from the end of a path, by so many percent each time.
    pub(in crate::signal) fn swept(&mut self, end: &End<'_>, control: ControlId, step: usize, channel: u16) -> Written {
        self.words.extend([3, step as u32]);
        self.channel(channel)?;
        self.bare(control)?;
        let Stand { controls, trims } = end.stand();
        self.words.extend([controls.len() as u32, trims.len() as u32, end.latches().count() as u32]);
        controls.iter().for_each(|&at| self.setting(at));
        trims.iter().for_each(|&at| self.number(at));
        end.latches().try_for_each(|(latch, on)| {
            self.words.push(on.map_or(2, u32::from));
            self.named(latch)
        })
    }

    fn fixed(&mut self, fixed: &[(Handle, Kept)]) -> Written {
        self.words.push(fixed.len() as u32);
        for &(handle, kept) in fixed {
            let (tag, id) = match handle {
                Handle::Control(id) => (0, id),
                Handle::Trim(id) => (1, id),
            };
            self.words.push(tag);
            self.bare(id)?;
            match kept {
                Kept::At(setting) => self.setting(setting),
                Kept::Within(low, high) => {
                    self.words.push(2);
                    self.number(low);
                    self.number(high);
                }
            }
        }
        Ok(())
    }

    fn setting(&mut self, setting: Setting) {
        match setting {
            Setting::Percent(at) => {
                self.words.push(0);
                self.number(at);
            }
            Setting::Position(at) => self.words.extend([1, u32::from(at)]),
        }
    }

    fn number(&mut self, number: Rational64) {
        let (n, d) = number.ratio();
        for part in [n, d] {
            self.words.extend([part as u32, (part >> 32) as u32]);
        }
    }

    fn movers(&mut self, who: &Movers) -> Written {
        let of = |kind: &ControlKind| match (who, kind) {
            (Movers::Any, _) => true,
            (Movers::NotSticks, kind) => !matches!(kind, ControlKind::Stick { .. } | ControlKind::Reported),
            (_, kind) => matches!(kind, ControlKind::Switch { .. } | ControlKind::Button { .. }),
        };
        let program = self.program;
        match who {
            Movers::These(these) => {
                self.words.extend([0, these.len() as u32]);
                these.iter().try_for_each(|&id| self.bare(id))
            }
            Movers::Any | Movers::SwitchesAndButtons | Movers::NotSticks => {
                self.words.push(1);
                let start = self.words.len();
                // Trims move with "any" alone.
                self.words.push(17 + u32::from(*who == Movers::Any));
                for (id, _) in program.controls().filter(|(_, control)| of(&control.kind)) {
                    self.bare(id)?;
                }
                self.put(start);
                Ok(())
            }
        }
    }

    /// Replaces what was written from here on by the number that stands for it.
    fn put(&mut self, start: usize) -> u32 {
        let number = self.numbers.of(&self.words[start..]);
        self.words.truncate(start);
        self.words.push(number);
        number
    }

    /// Writes the number of a part, which is found once.
    fn part(
        &mut self,
        list: impl Fn(&mut Ids) -> &mut Vec<Id>,
        index: usize,
        write: impl FnOnce(&mut Self) -> Written,
    ) -> Written {
        match list(self.ids).get(index).copied() {
            Some(Id::Numbered(number)) => {
                self.words.push(number);
                return Ok(());
            }
            Some(Id::New) => {}
            Some(Id::Open) | None => return Err(NoRow),
        }
        list(self.ids)[index] = Id::Open;
        let start = self.words.len();
        let written = write(self);
        if written.is_err() {
            list(self.ids)[index] = Id::New;
            return written;
        }
        let number = self.put(start);
        list(self.ids)[index] = Id::Numbered(number);
        Ok(())
    }
}

/// What a program is made of: each part with all that it hangs on.
impl Writer<'_> {
    /// A control as it stands: which one it is, and where it can stand. It is written out, which is shorter than a number.
    fn bare(&mut self, id: ControlId) -> Written {
        let program = self.program;
        let kind = &program.parts.controls.get(usize::from(id.0)).ok_or(NoRow)?.kind;
        let (kind, more, trim) = match kind {
            ControlKind::Stick { function, trim, .. } => (0, *function as u32, *trim),
            ControlKind::Axis { .. } => (1, 0, None),
            ControlKind::Switch { positions, sprung_to } => {
                let rest = sprung_to.map_or(0, |at| u32::from(at) + 1);
                (2, positions.len() as u32 | rest << 8, None)
            }
            ControlKind::Button { .. } => (3, 0, None),
            ControlKind::Reported => (3, 1, None),
        };
        self.words.extend([u32::from(id.0), kind | u32::from(trim.is_some()) << 2 | more << 3]);
        if let Some(trim) = trim {
            self.number(trim);
            self.words.push(u32::from(program.parts.trims_unstated));
        }
        Ok(())
    }

    /// A control with its rates.
    fn shaped(&mut self, id: ControlId) -> Written {
        let index = usize::from(id.0);
        let program = self.program;
        self.part(
            |ids| &mut ids.shaped,
            index,
            |row| {
                row.words.push(11);
                row.bare(id)?;
                if let ControlKind::Stick { rates, .. } = &program.parts.controls[index].kind {
                    row.words.push(rates.len() as u32);
                    for rate in rates {
                        row.number(rate.rate);
                        row.number(rate.expo);
                        row.when(rate.when.as_ref())?;
                    }
                }
                Ok(())
            },
        )
    }

    fn when(&mut self, when: Option<&Condition>) -> Written {
        match when {
            Some(when) => {
                self.words.push(1);
                self.condition(when)
            }
            None => {
                self.words.push(0);
                Ok(())
            }
        }
    }

    /// A channel with its output and the way it is carried. One that the model does not define is written as that.
    fn channel(&mut self, number: u16) -> Written {
        let program = self.program;
        let Some(index) = program.channel_index(number) else {
            if program.parts.elsewhere.is_some() {
                return Err(NoRow);
            }
            self.words.extend([u32::MAX, u32::from(number)]);
            return Ok(());
        };
        self.part(
            |ids| &mut ids.channels,
            index,
            |row| {
                let channel = &program.parts.channels[index];
                row.words.extend([12, channel.lines.len() as u32]);
                for line in &channel.lines {
                    row.value(&line.value)?;
                    row.when(line.when.as_ref())?;
                }
                row.words.push(u32::from(channel.reversed));
                let scale = program.parts.scale;
                let centre = channel.centre.unwrap_or(scale.centre);
                let ((least, most), (low, high)) = (channel.ends, channel.travel);
                [channel.subtrim, least, most, low, high, centre, scale.centre, scale.span]
                    .into_iter()
                    .for_each(|at| row.number(at));
                match channel.carriage {
                    // What is not carried is told from others by its number.
                    Carriage::Not => row.words.extend([0, u32::from(number)]),
                    Carriage::Unchanged => row.words.push(1),
                    Carriage::Unknown(_) => return Err(NoRow),
                    Carriage::Levels(levels) => row.words.extend([2, levels]),
                }
                Ok(())
            },
        )
    }

    fn value(&mut self, value: &Value) -> Written {
        let mut two = |tag: u32, a: &Value, b: &Value| {
            self.words.push(tag);
            self.value(a)?;
            self.value(b)
        };
        match value {
            Value::Min(a, b) => two(0, a, b),
            Value::Max(a, b) => two(1, a, b),
            Value::Add(a, b) => two(2, a, b),
            Value::Subtract(a, b) => two(3, a, b),
            Value::Multiply(a, b) => two(4, a, b),
            Value::Negate(of) => {
                self.words.push(5);
                self.value(of)
            }
            Value::Curve(id, of) => {
                self.words.push(6);
                self.curve(*id)?;
                self.value(of)
            }
            // What is not known of one model is not what is not known of another.
            Value::Unknown(_) => Err(NoRow),
            Value::Percent(number) => {
                self.words.push(7);
                self.number(*number);
                Ok(())
            }
            Value::Control(id) => {
                self.words.push(8);
                self.shaped(*id)
            }
            Value::Unshaped(id) => {
                self.words.push(9);
                self.bare(*id)
            }
            Value::Channel(number) => {
                self.words.push(10);
                self.channel(*number)
            }
        }
    }

    fn curve(&mut self, id: CurveId) -> Written {
        let index = usize::from(id.0);
        let program = self.program;
        self.part(
            |ids| &mut ids.curves,
            index,
            |row| {
                let curve = &program.parts.curves[index];
                row.words.extend([13, u32::from(curve.rounded), curve.points.len() as u32]);
                for &(x, y) in &curve.points {
                    row.number(x);
                    row.number(y);
                }
                Ok(())
            },
        )
    }

    fn bounds(&mut self, bounds: &Bounds) {
        for bound in [bounds.low, bounds.high] {
            match bound {
                Some(bound) => {
                    self.words.push(1 + u32::from(bound.strict));
                    self.number(bound.at);
                }
                None => self.words.push(0),
            }
        }
    }

    fn position(&mut self, tag: u32, id: ControlId, at: Position) -> Written {
        self.words.push(tag);
        match at {
            Position::Index(at) => self.words.push(u32::from(at)),
            Position::Low => self.words.push(u32::MAX),
            Position::Centre => self.words.push(u32::MAX - 1),
            Position::High => self.words.push(u32::MAX - 2),
        }
        self.bare(id)
    }

    fn condition(&mut self, condition: &Condition) -> Written {
        match condition {
            Condition::Unknown(_) => Err(NoRow),
            Condition::Constant(value) => {
                self.words.push(u32::from(*value));
                Ok(())
            }
            Condition::At(id, at) => self.position(2, *id, *at),
            Condition::Becomes(id, at) => self.position(3, *id, *at),
            Condition::Axis(id, bounds) => {
                self.words.push(4);
                self.bounds(bounds);
                self.bare(*id)
            }
            Condition::Channel(number, measure, bounds) => {
                self.words.extend([5, *measure as u32]);
                self.bounds(bounds);
                self.channel(*number)
            }
            Condition::Mode(id, measure) => {
                self.words.extend([6, *measure as u32]);
                self.mode(*id)
            }
            Condition::Named(id) => {
                self.words.push(7);
                self.named(*id)
            }
            Condition::Not(of) => {
                self.words.push(8);
                self.condition(of)
            }
            Condition::All(of) => self.list(9, of),
            Condition::Any(of) => self.list(10, of),
            Condition::Held(number, of) => {
                self.words.extend([11, u32::from(*number)]);
                self.condition(of)
            }
        }
    }

    fn list(&mut self, tag: u32, of: &[Condition]) -> Written {
        self.words.extend([tag, of.len() as u32]);
        of.iter().try_for_each(|part| self.condition(part))
    }

    fn mode(&mut self, id: ModeId) -> Written {
        let index = usize::from(id.0);
        let program = self.program;
        self.part(
            |ids| &mut ids.modes,
            index,
            |row| {
                if program.parts.modes[index].unknown.is_some() {
                    return Err(NoRow);
                }
                let any_of = &program.parts.modes[index].any_of;
                row.words.extend([14, any_of.len() as u32]);
                for ranges in any_of {
                    row.words.push(ranges.len() as u32);
                    for &(channel, low, high) in ranges {
                        row.number(low);
                        row.number(high);
                        row.channel(channel)?;
                    }
                }
                Ok(())
            },
        )
    }

    fn named(&mut self, id: ConditionId) -> Written {
        let index = usize::from(id.0);
        let program = self.program;
        self.part(
            |ids| &mut ids.conditions,
            index,
            |row| match &program.parts.conditions[index].kind {
                NamedKind::Plain(condition) => {
                    row.words.push(15);
                    row.condition(condition)
                }
                NamedKind::Toggle(on) => {
                    row.words.push(19);
                    row.condition(on)
                }
                NamedKind::Latch { set, reset } => {
                    row.words.push(16);
                    row.condition(set)?;
                    row.condition(reset)
                }
            },
        )
    }
}
