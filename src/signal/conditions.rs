//! Conditions compiled into the net.

use super::fix::Fix;
use super::net::{Bit, BitId, Fits, MOST_MEMORY, Net, NumId, TooLarge, fits, remember};
use super::parts::*;
use super::program::Program;
use super::state::Handle;

/// How many conditions the values of one question may be taken apart into; beyond that they are compared as values.
const FUEL: u32 = 2000;

impl Net {
    fn between(&mut self, program: &Program, num: NumId, bounds: &Bounds) -> Fits<BitId> {
        let mut parts = Vec::with_capacity(2);
        if let Some(low) = bounds.low {
            parts.push(self.over(program, num, low.strict, Fix::of(low.at)));
        }
        if let Some(high) = bounds.high {
            let over = self.over(program, num, !high.strict, Fix::of(high.at));
            parts.push(self.not(over));
        }
        Ok(self.join(parts, true))
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
        Ok(self.over(program, sent, true, middle))
    }

    fn channel_test(&mut self, program: &Program, number: u16, measure: Measure, bounds: &Bounds) -> Fits<BitId> {
        let Some(channel) = program.channel(number) else { return Ok(self.bit_node(Bit::NotKnown(number))) };
        match (measure, channel.carriage) {
            (Measure::Percent, _) => {
                let node = self.percent(program, number)?;
                self.between(program, node, bounds)
            }
            (Measure::Sent, _) | (Measure::Received, Carriage::Unchanged) => {
                let node = self.sent(program, number)?;
                self.between(program, node, bounds)
            }
            (Measure::Received, Carriage::Not) => Ok(self.bit_node(Bit::NotKnown(number))),
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

    fn mode(&mut self, program: &Program, id: ModeId, measure: Measure) -> Fits<BitId> {
        if let Some(&known) = self.made.modes.get(&(id.0, measure)) {
            return Ok(known);
        }
        let mode = fits(program.parts.modes.get(usize::from(id.0)))?;
        let mut parts = Vec::with_capacity(mode.ranges.len());
        for &(number, low, high) in &mode.ranges {
            parts.push(self.channel_test(program, number, measure, &Bounds::between(low, high))?);
        }
        let bit = self.join(parts, true);
        self.made.modes.insert((id.0, measure), bit);
        Ok(bit)
    }

    fn at(&mut self, program: &Program, id: ControlId, at: Position) -> Fits<BitId> {
        let var = self.var(program, Handle::Control(id))?;
        match at {
            Position::Index(position) => Ok(self.stands_in(var, 1 << position)),
            Position::Low => {
                let raw = self.raw(program, id)?;
                let over = self.over(program, raw, true, Fix::whole(super::exact::LOW));
                Ok(self.not(over))
            }
        }
    }

    /// The node of a condition that a question asks.
    pub(super) fn asked(&mut self, program: &Program, condition: &Condition) -> Fits<BitId> {
        self.made.fuel = FUEL;
        self.condition(program, condition)
    }

    /// The node of a value line's condition; none always holds.
    pub(super) fn when(&mut self, program: &Program, when: Option<&Condition>) -> Fits<BitId> {
        match when {
            Some(when) => self.condition(program, when),
            None => Ok(self.constant(true)),
        }
    }

    fn condition(&mut self, program: &Program, condition: &Condition) -> Fits<BitId> {
        Ok(match condition {
            Condition::Constant(value) => self.constant(*value),
            Condition::At(id, at) => self.at(program, *id, *at)?,
            Condition::Becomes(id, at) => {
                let test = self.at(program, *id, *at)?;
                let number = match self.tests.iter().position(|&known| known == test) {
                    Some(number) => number,
                    None if self.tests.len() < MOST_MEMORY => {
                        self.tests.push(test);
                        self.tests.len() - 1
                    }
                    None => return Err(TooLarge),
                };
                self.bit_node(Bit::Became(number as u8))
            }
            Condition::Axis(id, bounds) => {
                let raw = self.raw(program, *id)?;
                self.between(program, raw, bounds)?
            }
            Condition::Channel(number, measure, bounds) => self.channel_test(program, *number, *measure, bounds)?,
            Condition::Mode(id, measure) => self.mode(program, *id, *measure)?,
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
            Condition::Held(number, of) => match self.condition(program, of)? {
                of if self.bit(of) == Bit::Const(false) => of,
                of => self.bit_node(Bit::Held { number: *number, of }),
            },
        })
    }

    fn named(&mut self, program: &Program, id: ConditionId) -> Fits<BitId> {
        let index = usize::from(id.0);
        if let Some(known) = self.made.conditions.get(index).copied().flatten() {
            return Ok(known);
        }
        let bit = match &fits(program.parts.conditions.get(index))?.kind {
            NamedKind::Plain(condition) => self.condition(program, condition)?,
            NamedKind::Latch { set, reset } => {
                let (set, reset) = (self.condition(program, set)?, self.condition(program, reset)?);
                self.latch(id, set, reset)?
            }
        };
        remember(&mut self.made.conditions, index, bit);
        Ok(bit)
    }

    fn latch(&mut self, id: ConditionId, set: BitId, reset: BitId) -> Fits<BitId> {
        // One that nothing turns on, or that something always turns off, is never on.
        if self.bit(set) == Bit::Const(false) || self.bit(reset) == Bit::Const(true) {
            return Ok(self.constant(false));
        }
        if self.latches.len() >= MOST_MEMORY {
            return Err(TooLarge);
        }
        let number = self.latches.len() as u8;
        self.latches.push((set, reset));
        let bit = self.bit_node(Bit::Latch(number));
        self.latch_ids.push((id, bit));
        Ok(bit)
    }
}
