//! Which questions are the same: a question is written as a row of words in which every channel, condition, mode and control
//! stands with all that it hangs on, and nothing else. Two questions of the same row have the same answer, whatever else their
//! models hold, and whatever their names are.

mod parts;

use super::number::Number;
use super::parts::*;
use super::program::Program;
use super::question::{Kept, Movers, Question, Within};
use super::state::{Handle, Setting};
use rustc_hash::FxHashMap;

/// A row of words. The first says what it is a row of, and every list begins with its length, so that no two things have the
/// same row.
pub(super) type Row = Box<[u32]>;

/// Rows that have a number, which stands for them in other rows.
#[derive(Clone, Debug, Default)]
pub(super) struct Numbers {
    rows: FxHashMap<Row, u32>,
    /// How often all were forgotten.
    age: u32,
}

impl Numbers {
    pub(super) fn len(&self) -> usize {
        self.rows.len()
    }

    pub(super) const fn age(&self) -> u32 {
        self.age
    }

    pub(super) fn forget(&mut self) {
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
pub(super) struct Ids {
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
    Known(u32),
}

/// What can't be written: a reference that points nowhere, or something that hangs on itself.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoRow;

pub(super) type Written = Result<(), NoRow>;

/// Writes rows.
pub(super) struct Writer<'a> {
    program: &'a Program,
    numbers: &'a mut Numbers,
    ids: &'a mut Ids,
    words: &'a mut Vec<u32>,
}

impl<'a> Writer<'a> {
    pub(super) fn new(
        program: &'a Program,
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
    pub(super) fn question(&mut self, question: &Question) -> Written {
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
    pub(super) fn range(&mut self, channel: u16, measure: Measure, within: &Within) -> Written {
        self.words.extend([1, measure as u32]);
        self.channel(channel)?;
        self.condition(&within.given)?;
        self.fixed(&within.fixed)
    }

    /// The row of whether nothing leads out of one condition to another.
    pub(super) fn trapped(&mut self, inside: &Condition, outside: &Condition) -> Written {
        self.words.push(2);
        self.condition(inside)?;
        self.condition(outside)
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

    fn number(&mut self, number: Number) {
        for part in [*number.numer(), *number.denom()] {
            self.words.extend([part as u32, (part >> 32) as u32]);
        }
    }

    fn movers(&mut self, who: &Movers) -> Written {
        let of = |kind: &ControlKind| match (who, kind) {
            (Movers::Any, _) => true,
            (Movers::NotSticks, kind) => !matches!(kind, ControlKind::Stick { .. }),
            (_, kind) => matches!(kind, ControlKind::Switch { .. } | ControlKind::Button),
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
            Some(Id::Known(number)) => {
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
        list(self.ids)[index] = Id::Known(number);
        Ok(())
    }
}
