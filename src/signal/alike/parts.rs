//! What a program is made of, written as rows of words: each part with all that it hangs on.

use super::{NoRow, Writer, Written};
use crate::signal::parts::*;

impl Writer<'_> {
    /// A control as it stands: which one it is, and where it can stand. It is written out, which is shorter than a number.
    pub(super) fn bare(&mut self, id: ControlId) -> Written {
        let program = self.program;
        let kind = &program.parts.controls.get(usize::from(id.0)).ok_or(NoRow)?.kind;
        let (kind, more, trim) = match kind {
            ControlKind::Stick { function, trim, .. } => (0, *function as u32, *trim),
            ControlKind::Axis => (1, 0, None),
            ControlKind::Switch { positions, sprung_to } => {
                let rest = sprung_to.map_or(0, |at| u32::from(at) + 1);
                (2, positions.len() as u32 | rest << 8, None)
            }
            ControlKind::Button => (3, 0, None),
        };
        self.words.extend([u32::from(id.0), kind | u32::from(trim.is_some()) << 2 | more << 3]);
        trim.iter().for_each(|&trim| self.number(trim));
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
    pub(super) fn channel(&mut self, number: u16) -> Written {
        let program = self.program;
        let Some(index) = program.channel_index(number) else {
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
                let (low, high) = channel.travel;
                [channel.subtrim, low, high, centre, scale.centre, scale.span]
                    .into_iter()
                    .for_each(|at| row.number(at));
                match channel.carriage {
                    // What is not carried is told from others by its number.
                    Carriage::Not => row.words.extend([0, u32::from(number)]),
                    Carriage::Unchanged => row.words.push(1),
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
                row.words.extend([13, u32::from(curve.smooth), curve.points.len() as u32]);
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
        }
        self.bare(id)
    }

    pub(super) fn condition(&mut self, condition: &Condition) -> Written {
        match condition {
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
                let ranges = &program.parts.modes[index].ranges;
                row.words.extend([14, ranges.len() as u32]);
                for &(channel, low, high) in ranges {
                    row.number(low);
                    row.number(high);
                    row.channel(channel)?;
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
                NamedKind::Latch { set, reset } => {
                    row.words.push(16);
                    row.condition(set)?;
                    row.condition(reset)
                }
            },
        )
    }
}
