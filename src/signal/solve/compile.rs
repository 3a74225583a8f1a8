//! Conditions, values and channels compiled into the dag.

use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::*;
use crate::signal::program::state::Handle;
use crate::signal::solve::dag::{Bit, BitId, Dag, Fits, MOST_MEMORY, Memory, Num, NumId, TooLarge, fits, remember};

/// How many conditions the values of one question may be taken apart into; beyond that they are compared as values.
const FUEL: u32 = 2000;

impl Dag {
    fn between(&mut self, program: &Compiled, num: NumId, bounds: &Bounds) -> Fits<BitId> {
        let mut parts = Vec::with_capacity(2);
        if let Some(low) = bounds.low {
            parts.push(self.over(program, num, low.strict, low.at));
        }
        if let Some(high) = bounds.high {
            let over = self.over(program, num, !high.strict, high.at);
            parts.push(self.not(over));
        }
        Ok(self.join(parts, true))
    }

    /// The pulse received is above, or at least, a limit: a question about the pulse sent, against the middle between two
    /// levels; a tie goes to the lower.
    fn received_over(
        &mut self,
        program: &Compiled,
        sent: NumId,
        levels: u32,
        strict: bool,
        limit: Rational64,
    ) -> Fits<BitId> {
        let scale = program.parts.scale;
        let (centre, span) = (scale.centre, scale.span);
        let steps = i64::from(levels) - 1;
        // The first level, counted from 0, that satisfies it: over the limit by this many steps from the lowest.
        let lowest = fits(centre.sub(span))?;
        let step = fits(fits(span.mul(Rational64::whole(2)))?.div(Rational64::whole(steps)))?;
        let place = fits(fits(limit.sub(lowest))?.div(step))?;
        let first = if strict { place.floor().ratio().0 + 1 } else { place.ceil().ratio().0 };
        if first <= 0 {
            return Ok(self.constant(true));
        }
        if first > steps {
            return Ok(self.constant(false));
        }
        let half = fits(Rational64::whole(2 * first - 1).div(Rational64::whole(2)))?;
        let middle = fits(lowest.add(fits(step.mul(half))?))?;
        Ok(self.over(program, sent, true, middle))
    }

    fn channel_test(&mut self, program: &Compiled, number: u16, measure: Measure, bounds: &Bounds) -> Fits<BitId> {
        let Some(channel) = program.channel(number) else {
            return Ok(self.bit_node(match program.parts.elsewhere {
                Some(id) => Bit::Unknown(id),
                None => Bit::NotKnown(number),
            }));
        };
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
            (Measure::Received, Carriage::Unknown(id)) => Ok(self.bit_node(Bit::Unknown(id))),
            (Measure::Received, Carriage::Levels(levels)) => {
                let node = self.sent(program, number)?;
                let mut parts = Vec::with_capacity(2);
                if let Some(low) = bounds.low {
                    parts.push(self.received_over(program, node, levels, low.strict, low.at)?);
                }
                if let Some(high) = bounds.high {
                    let over = self.received_over(program, node, levels, !high.strict, high.at)?;
                    parts.push(self.not(over));
                }
                Ok(self.join(parts, true))
            }
        }
    }

    fn mode(&mut self, program: &Compiled, id: ModeId, measure: Measure) -> Fits<BitId> {
        if let Some(&known) = self.made.modes.get(&(id.0, measure)) {
            return Ok(known);
        }
        let mode = fits(program.parts.modes.get(usize::from(id.0)))?;
        if let Some(unknown) = mode.unknown {
            let bit = self.bit_node(Bit::Unknown(unknown));
            self.made.modes.insert((id.0, measure), bit);
            return Ok(bit);
        }
        let mut lists = Vec::with_capacity(mode.any_of.len());
        for ranges in &mode.any_of {
            let mut parts = Vec::with_capacity(ranges.len());
            for &(number, low, high) in ranges {
                parts.push(self.channel_test(program, number, measure, &Bounds::between(low, high))?);
            }
            lists.push(self.join(parts, true));
        }
        let bit = self.join(lists, false);
        self.made.modes.insert((id.0, measure), bit);
        Ok(bit)
    }

    fn at(&mut self, program: &Compiled, id: ControlId, at: Position) -> Fits<BitId> {
        let var = self.var(program, Handle::Control(id))?;
        match at {
            Position::Index(position) => Ok(self.stands_in(var, 1 << position)),
            Position::Low | Position::Centre | Position::High => {
                let raw = self.raw(program, id)?;
                self.between(program, raw, &at.range().unwrap_or_default())
            }
        }
    }

    /// The node of a condition that a question asks.
    pub(in crate::signal) fn asked(&mut self, program: &Compiled, condition: &Condition) -> Fits<BitId> {
        self.made.fuel = FUEL;
        self.condition(program, condition)
    }

    /// The node of a value line's condition; none always holds.
    pub(in crate::signal) fn when(&mut self, program: &Compiled, when: Option<&Condition>) -> Fits<BitId> {
        match when {
            Some(when) => self.condition(program, when),
            None => Ok(self.constant(true)),
        }
    }

    fn condition(&mut self, program: &Compiled, condition: &Condition) -> Fits<BitId> {
        Ok(match condition {
            Condition::Constant(value) => self.constant(*value),
            Condition::Unknown(id) => self.bit_node(Bit::Unknown(*id)),
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

    fn named(&mut self, program: &Compiled, id: ConditionId) -> Fits<BitId> {
        let index = usize::from(id.0);
        if let Some(known) = self.made.conditions.get(index).copied().flatten() {
            return Ok(known);
        }
        let bit = match &fits(program.parts.conditions.get(index))?.kind {
            NamedKind::Plain(condition) => self.condition(program, condition)?,
            NamedKind::Toggle(on) => {
                let on = self.condition(program, on)?;
                self.toggle(id, on)?
            }
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
        self.remembered(id, Memory::Latch { set, reset })
    }

    fn toggle(&mut self, id: ConditionId, on: BitId) -> Fits<BitId> {
        // One that nothing turns over stays off.
        if self.bit(on) == Bit::Const(false) {
            return Ok(self.constant(false));
        }
        self.remembered(id, Memory::Toggle(on))
    }

    fn remembered(&mut self, id: ConditionId, memory: Memory) -> Fits<BitId> {
        if self.latches.len() >= MOST_MEMORY {
            return Err(TooLarge);
        }
        let number = self.latches.len() as u8;
        self.latches.push(memory);
        let bit = self.bit_node(Bit::Latch(number));
        self.latch_ids.push((id, bit));
        Ok(bit)
    }

    fn number(&mut self, value: Rational64) -> NumId {
        self.num_node(Num::Const(value))
    }

    /// The raw position of a control.
    pub(in crate::signal) fn raw(&mut self, program: &Compiled, id: ControlId) -> Fits<NumId> {
        let var = self.var(program, Handle::Control(id))?;
        Ok(self.num_node(Num::Var(var)))
    }

    /// A control's value as channels see it: a stick after rates, with its trim.
    fn shaped(&mut self, program: &Compiled, id: ControlId) -> Fits<NumId> {
        let index = usize::from(id.0);
        if let Some(known) = self.made.shaped.get(index).copied().flatten() {
            return Ok(known);
        }
        let raw = self.raw(program, id)?;
        let node = match &fits(program.parts.controls.get(index))?.kind {
            ControlKind::Stick { trim, rates, .. } => {
                let mut lines = Vec::with_capacity(rates.len());
                for rate in rates {
                    let when = self.when(program, rate.when.as_ref())?;
                    let share = fits(rate.rate.div(Rational64::HUNDRED))?;
                    let k = rate.expo;
                    let node = if k.is_zero() { raw } else { self.num_node(Num::Expo { of: raw, k }) };
                    lines.push((when, self.lin(Rational64::ZERO, &[(share, node)])?));
                }
                let stick = self.choose(lines, raw);
                match trim {
                    Some(trim) if !trim.is_zero() => {
                        let trim = self.var(program, Handle::Trim(id))?;
                        let trim = self.num_node(Num::Var(trim));
                        self.lin(Rational64::ZERO, &[(Rational64::ONE, stick), (Rational64::ONE, trim)])?
                    }
                    _ => stick,
                }
            }
            _ => raw,
        };
        remember(&mut self.made.shaped, index, node);
        Ok(node)
    }

    fn value(&mut self, program: &Compiled, value: &Value) -> Fits<NumId> {
        let minus = Rational64::whole(-1);
        Ok(match value {
            Value::Percent(number) => self.number(*number),
            Value::Unknown(id) => self.num_node(Num::Unknown(*id)),
            Value::Control(id) => self.shaped(program, *id)?,
            Value::Unshaped(id) => self.raw(program, *id)?,
            Value::Channel(number) => self.percent(program, *number)?,
            Value::Curve(id, of) => {
                let of = self.value(program, of)?;
                let shape = fits(program.shapes.get(usize::from(id.0)))?;
                let constant = if let Num::Const(at) = self.num(of) { shape.small_at(at) } else { None };
                // A value that is too fine for a constant is enclosed where it is looked at.
                self.num_node(constant.map_or(Num::Curve { curve: id.0, of }, Num::Const))
            }
            Value::Min(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.least(a, b)
            }
            Value::Max(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.greatest(a, b)
            }
            Value::Add(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Rational64::ZERO, &[(Rational64::ONE, a), (Rational64::ONE, b)])?
            }
            Value::Subtract(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Rational64::ZERO, &[(Rational64::ONE, a), (minus, b)])?
            }
            Value::Multiply(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.product(a, b)?
            }
            Value::Negate(of) => {
                let of = self.value(program, of)?;
                self.lin(Rational64::ZERO, &[(minus, of)])?
            }
        })
    }

    /// A channel's value before output. The channel is there, or may be defined by what is not known: that was checked.
    pub(in crate::signal) fn percent(&mut self, program: &Compiled, number: u16) -> Fits<NumId> {
        let Some(index) = program.channel_index(number) else {
            return Ok(self.num_node(Num::Unknown(fits(program.parts.elsewhere)?)));
        };
        if let Some(known) = self.made.percents.get(index).copied().flatten() {
            return Ok(known);
        }
        let channel = &program.parts.channels[index];
        let mut lines = Vec::with_capacity(channel.lines.len());
        for line in &channel.lines {
            let when = self.when(program, line.when.as_ref())?;
            lines.push((when, self.value(program, &line.value)?));
        }
        let zero = self.num_node(Num::Const(Rational64::ZERO));
        let node = self.choose(lines, zero);
        remember(&mut self.made.percents, index, node);
        Ok(node)
    }

    /// A value with each side of the centre scaled by itself: whichever side is the steeper, the lesser or the greater of both
    /// straight lines through the centre. Where both ends lie on one side of it, nothing lies beyond the centre, which the lines
    /// alone do not show over a range of values.
    fn ends(&mut self, value: NumId, (low, high): (Rational64, Rational64)) -> Fits<NumId> {
        let below = fits(low.negate().div(Rational64::HUNDRED))?;
        let above = fits(high.div(Rational64::HUNDRED))?;
        let mut line = |slope| self.lin(Rational64::ZERO, &[(slope, value)]);
        let (under, over) = (line(below)?, line(above)?);
        let centre = self.number(Rational64::ZERO);
        Ok(match below.cmp(&above) {
            std::cmp::Ordering::Equal => under,
            std::cmp::Ordering::Less => {
                let value = self.greatest(under, over);
                if low > Rational64::ZERO { self.greatest(value, centre) } else { value }
            }
            std::cmp::Ordering::Greater => {
                let value = self.least(under, over);
                if high < Rational64::ZERO { self.least(value, centre) } else { value }
            }
        })
    }

    /// A value as a channel turns it round, shifts it and scales its ends.
    fn turned(&mut self, value: NumId, channel: &Channel) -> Fits<NumId> {
        let sign = if channel.reversed { Rational64::whole(-1) } else { Rational64::ONE };
        let turned = self.lin(channel.subtrim, &[(sign, value)])?;
        self.ends(turned, channel.ends)
    }

    /// The pulse that a channel sends, in microseconds.
    pub(in crate::signal) fn sent(&mut self, program: &Compiled, number: u16) -> Fits<NumId> {
        let index = fits(program.channel_index(number))?;
        if let Some(known) = self.made.sent.get(index).copied().flatten() {
            return Ok(known);
        }
        let channel = &program.parts.channels[index];
        let value = self.percent(program, number)?;
        let turned = match self.num(value) {
            // What falls and rises again is known of each line by itself, and not of all that the lines give together.
            Num::Choose { lines, otherwise }
                if channel.ends.0 > Rational64::ZERO || channel.ends.1 < Rational64::ZERO =>
            {
                let lines = self.lines(lines).to_vec();
                let each = lines.into_iter().map(|(when, value)| Ok((when, self.turned(value, channel)?)));
                let each = each.collect::<Fits<Vec<_>>>()?;
                let otherwise = self.turned(otherwise, channel)?;
                self.choose(each, otherwise)
            }
            _ => self.turned(value, channel)?,
        };
        let (low, high) = (self.number(channel.travel.0), self.number(channel.travel.1));
        let under = self.least(turned, high);
        let clamped = self.greatest(under, low);
        let scale = program.parts.scale;
        let centre = channel.centre.unwrap_or(scale.centre);
        let node = self.lin(centre, &[(fits(scale.span.div(Rational64::HUNDRED))?, clamped)])?;
        remember(&mut self.made.sent, index, node);
        Ok(node)
    }
}
