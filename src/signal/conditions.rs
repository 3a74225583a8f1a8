//! Conditions compiled into the net.

use super::fix::Fix;
use super::net::{Bit, BitId, Fits, MOST_MEMORY, Net, Num, NumId, TooLarge, fits};
use super::parts::*;
use super::program::Program;
use super::state::Handle;

impl Net {
    fn over(&mut self, num: NumId, strict: bool, limit: Fix) -> BitId {
        match self.num(num) {
            Num::Const(value) => {
                let holds = if strict { *value > limit } else { *value >= limit };
                self.constant(holds)
            }
            _ => self.add_bit(Bit::Over { num, strict, limit }),
        }
    }

    fn between(&mut self, num: NumId, bounds: &Bounds) -> BitId {
        let mut parts = Vec::with_capacity(2);
        if let Some(low) = bounds.low {
            parts.push(self.over(num, low.strict, Fix::of(low.at)));
        }
        if let Some(high) = bounds.high {
            let over = self.over(num, !high.strict, Fix::of(high.at));
            parts.push(self.not(over));
        }
        self.join(parts, true)
    }

    /// The pulse received is above, or at least, a limit: a question about the pulse sent, against the middle between two
    /// levels; a tie goes to the lower.
    fn received_over(&mut self, program: &Program, sent: NumId, levels: u32, strict: bool, limit: Fix) -> Fits<BitId> {
        let scale = program.parts.scale;
        let (centre, span) = (Fix::of(scale.centre), Fix::of(scale.span));
        let steps = i64::from(levels) - 1;
        // The first level, counted from 0, that satisfies it: over the limit by this many steps from the lowest.
        let lowest = fits(centre.sub(span))?;
        let step = fits(fits(span.mul(Fix::whole(2)))?.div(Fix::whole(steps)))?;
        let place = fits(fits(limit.sub(lowest))?.div(step))?.number();
        let first = if strict { place.floor().to_integer() + 1 } else { place.ceil().to_integer() };
        if first <= 0 {
            return Ok(self.constant(true));
        }
        if first > steps {
            return Ok(self.constant(false));
        }
        let half = fits(Fix::whole(2 * first - 1).div(Fix::whole(2)))?;
        let middle = fits(lowest.add(fits(step.mul(half))?))?;
        Ok(self.over(sent, true, middle))
    }

    fn channel_test(&mut self, program: &Program, number: u16, measure: Measure, bounds: &Bounds) -> Fits<BitId> {
        let Some(channel) = program.channel(number) else { return Ok(self.add_bit(Bit::NotKnown(number))) };
        let carriage = channel.carriage;
        match (measure, carriage) {
            (Measure::Percent, _) => {
                let node = self.percent(program, number)?;
                Ok(self.between(node, bounds))
            }
            (Measure::Sent, _) | (Measure::Received, Carriage::Unchanged) => {
                let node = self.sent(program, number)?;
                Ok(self.between(node, bounds))
            }
            (Measure::Received, Carriage::Not) => Ok(self.add_bit(Bit::NotKnown(number))),
            (Measure::Received, Carriage::Levels(levels)) => {
                let node = self.sent(program, number)?;
                let mut parts = Vec::with_capacity(2);
                if let Some(low) = bounds.low {
                    parts.push(self.received_over(program, node, levels, low.strict, Fix::of(low.at))?);
                }
                if let Some(high) = bounds.high {
                    let over = self.received_over(program, node, levels, !high.strict, Fix::of(high.at))?;
                    parts.push(self.not(over));
                }
                Ok(self.join(parts, true))
            }
        }
    }

    fn at(&mut self, program: &Program, id: ControlId, at: Position) -> Fits<BitId> {
        let var = self.var(program, Handle::Control(id))?;
        match at {
            Position::Index(position) => Ok(self.add_bit(Bit::In(var, 1 << position))),
            Position::Low => {
                let num = self.add_num(Num::Var(var));
                let over = self.over(num, true, Fix::whole(super::exact::LOW));
                Ok(self.not(over))
            }
        }
    }

    /// The node of a condition that a question asks; what was compiled once is found again.
    pub(super) fn asked(&mut self, program: &Program, condition: &Condition) -> Fits<BitId> {
        if let Some(&known) = self.asked.get(condition) {
            return Ok(known);
        }
        let bit = self.condition(program, condition)?;
        self.asked.insert(condition.clone(), bit);
        Ok(bit)
    }

    pub(super) fn condition(&mut self, program: &Program, condition: &Condition) -> Fits<BitId> {
        Ok(match condition {
            Condition::Constant(value) => self.constant(*value),
            Condition::At(id, at) => self.at(program, *id, *at)?,
            Condition::Becomes(id, at) => {
                let test = self.at(program, *id, *at)?;
                let number = match self.test_ids.get(&test) {
                    Some(&number) => number,
                    None if self.tests.len() < MOST_MEMORY => {
                        let number = self.tests.len() as u8;
                        self.tests.push(test);
                        self.test_ids.insert(test, number);
                        number
                    }
                    None => return Err(TooLarge),
                };
                self.add_bit(Bit::Became(number))
            }
            Condition::Axis(id, bounds) => {
                let var = self.var(program, Handle::Control(*id))?;
                let num = self.add_num(Num::Var(var));
                self.between(num, bounds)
            }
            Condition::Channel(number, measure, bounds) => self.channel_test(program, *number, *measure, bounds)?,
            Condition::Mode(id, measure) => {
                let mode = fits(program.parts.modes.get(usize::from(id.0)))?;
                let mut parts = Vec::with_capacity(mode.ranges.len());
                for &(number, low, high) in &mode.ranges {
                    parts.push(self.channel_test(program, number, *measure, &Bounds::between(low, high))?);
                }
                self.join(parts, true)
            }
            Condition::Named(id) => self.named(program, *id)?,
            Condition::Not(of) => {
                let of = self.condition(program, of)?;
                self.not(of)
            }
            Condition::All(of) => {
                let parts = of.iter().map(|part| self.condition(program, part)).collect::<Fits<Vec<_>>>()?;
                self.join(parts, true)
            }
            Condition::Any(of) => {
                let parts = of.iter().map(|part| self.condition(program, part)).collect::<Fits<Vec<_>>>()?;
                self.join(parts, false)
            }
            Condition::Held(number, of) => {
                let of = self.condition(program, of)?;
                self.add_bit(Bit::Held { number: *number, of })
            }
        })
    }

    fn named(&mut self, program: &Program, id: ConditionId) -> Fits<BitId> {
        if let Some(&known) = self.conditions.get(&id.0) {
            return Ok(known);
        }
        let bit = match &fits(program.parts.conditions.get(usize::from(id.0)))?.kind {
            NamedKind::Plain(condition) => self.condition(program, condition)?,
            NamedKind::Latch { set, reset } => {
                let (set, reset) = (self.condition(program, set)?, self.condition(program, reset)?);
                if self.latches.len() >= MOST_MEMORY {
                    return Err(TooLarge);
                }
                let number = self.latches.len() as u8;
                self.latches.push((set, reset));
                self.latch_ids.insert(id.0, number);
                self.add_bit(Bit::Latch(number))
            }
        };
        self.conditions.insert(id.0, bit);
        Ok(bit)
    }
}
