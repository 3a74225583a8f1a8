//! The compiled form of a program: conditions and values as nodes, equal nodes stored once. A question adds its own.

use super::fix::Fix;
use super::number::{Number, exact};
use super::parts::*;
use super::program::{Program, positions};
use super::state::Handle;
use rustc_hash::FxHashMap;

pub(super) type NumId = u32;
pub(super) type BitId = u32;
pub(super) type VarId = u16;

/// What a variable ranges over.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// From minus to plus this, in percent.
    Axis(Fix),
    /// Positions 0..n.
    Switch(u8),
}

/// Numbers: percents, or microseconds where a pulse is asked for.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) enum Num {
    Const(Fix),
    /// An axis, a trim, or a switch's value.
    Var(VarId),
    /// A constant plus multiples of nodes; at least one, each once, in order.
    Lin {
        constant: Fix,
        terms: Vec<(Fix, NumId)>,
    },
    Mul(NumId, NumId),
    Square(NumId),
    Min(NumId, NumId),
    Max(NumId, NumId),
    Curve {
        curve: u16,
        of: NumId,
    },
    /// x · ((100 − k) + k·x²/100²) / 100, which rises with x.
    Expo {
        of: NumId,
        k: Fix,
    },
    /// The first whose condition holds.
    Choose {
        lines: Vec<(BitId, NumId)>,
        otherwise: NumId,
    },
}

/// Conditions.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub(super) enum Bit {
    Const(bool),
    /// A switch stands in one of these positions.
    In(VarId, u64),
    /// Above (strict), or at least (not strict), a limit.
    Over {
        num: NumId,
        strict: bool,
        limit: Fix,
    },
    Not(BitId),
    All(Vec<BitId>),
    Any(Vec<BitId>),
    /// The test holds and did not before.
    Became(u8),
    Held {
        number: u8,
        of: BitId,
    },
    Latch(u8),
    /// Hangs on a pulse that is not known: the channel's number.
    NotKnown(u16),
}

/// The most latches and the most remembered tests.
pub(super) const MOST_MEMORY: usize = 64;

/// A program compiled.
#[derive(Clone, Debug, Default)]
pub(super) struct Net {
    pub(super) vars: Vec<(Handle, Kind)>,
    pub(super) nums: Vec<Num>,
    pub(super) bits: Vec<Bit>,
    /// Set and reset of each latch, by its number.
    pub(super) latches: Vec<(BitId, BitId)>,
    /// The tests of `becomes`.
    pub(super) tests: Vec<BitId>,
    var_ids: FxHashMap<Handle, VarId>,
    num_ids: FxHashMap<Num, NumId>,
    bit_ids: FxHashMap<Bit, BitId>,
    test_ids: FxHashMap<BitId, u8>,
    latch_ids: FxHashMap<u16, u8>,
    conditions: FxHashMap<u16, BitId>,
    channels: FxHashMap<u16, NumId>,
    sent: FxHashMap<u16, NumId>,
    /// What was compiled before, by the condition that was asked.
    asked: FxHashMap<Condition, BitId>,
    shaped: FxHashMap<u16, NumId>,
}

/// A number that does not fit, or more memory than can be kept.
#[derive(Clone, Copy, Debug)]
pub(super) struct TooLarge;

type Fits<T> = Result<T, TooLarge>;

fn fits<T>(value: Option<T>) -> Fits<T> {
    value.ok_or(TooLarge)
}

impl Net {
    pub(super) fn num(&self, id: NumId) -> &Num {
        &self.nums[id as usize]
    }

    pub(super) fn bit(&self, id: BitId) -> &Bit {
        &self.bits[id as usize]
    }

    /// Whether no variable stands in a value more than once, so that its parts are independent.
    pub(super) fn is_tree(&self, id: NumId) -> bool {
        let mut vars = Vec::new();
        self.once(id, &mut vars)
    }

    fn once(&self, id: NumId, vars: &mut Vec<VarId>) -> bool {
        match self.num(id) {
            Num::Const(_) => true,
            Num::Var(var) => {
                let new = !vars.contains(var);
                vars.push(*var);
                new
            }
            Num::Lin { terms, .. } => terms.iter().all(|&(_, term)| self.once(term, vars)),
            Num::Mul(a, b) | Num::Min(a, b) | Num::Max(a, b) => self.once(*a, vars) && self.once(*b, vars),
            Num::Square(of) | Num::Curve { of, .. } | Num::Expo { of, .. } => self.once(*of, vars),
            // Which line is in force was settled before; each line is looked at alone.
            Num::Choose { lines, otherwise } => {
                let before = vars.clone();
                let mut all = vars.clone();
                let mut sound = true;
                for value in lines.iter().map(|&(_, value)| value).chain([*otherwise]) {
                    let mut own = before.clone();
                    sound &= self.once(value, &mut own);
                    all.extend(own);
                }
                *vars = all;
                sound
            }
        }
    }

    /// The named condition that a latch is.
    pub(super) fn latch_condition(&self, latch: u8) -> Option<ConditionId> {
        self.latch_ids.iter().find(|(_, known)| **known == latch).map(|(&id, _)| ConditionId(id))
    }

    /// The node of a latch.
    pub(super) fn latch_bit(&self, latch: u8) -> BitId {
        self.bit_ids.get(&Bit::Latch(latch)).copied().unwrap_or_default()
    }

    pub(super) fn find_var(&self, handle: Handle) -> Option<VarId> {
        self.var_ids.get(&handle).copied()
    }

    fn add_num(&mut self, num: Num) -> NumId {
        if let Some(&id) = self.num_ids.get(&num) {
            return id;
        }
        let id = self.nums.len() as NumId;
        self.nums.push(num.clone());
        self.num_ids.insert(num, id);
        id
    }

    fn add_bit(&mut self, bit: Bit) -> BitId {
        if let Some(&id) = self.bit_ids.get(&bit) {
            return id;
        }
        let id = self.bits.len() as BitId;
        self.bits.push(bit.clone());
        self.bit_ids.insert(bit, id);
        id
    }

    pub(super) fn constant(&mut self, value: bool) -> BitId {
        self.add_bit(Bit::Const(value))
    }

    fn not(&mut self, of: BitId) -> BitId {
        match *self.bit(of) {
            Bit::Const(value) => self.constant(!value),
            Bit::Not(inner) => inner,
            _ => self.add_bit(Bit::Not(of)),
        }
    }

    fn join(&mut self, mut parts: Vec<BitId>, all: bool) -> BitId {
        parts.sort_unstable();
        parts.dedup();
        let neutral = self.constant(all);
        let decides = self.constant(!all);
        if parts.contains(&decides) {
            return decides;
        }
        parts.retain(|&part| part != neutral);
        match parts.as_slice() {
            [] => neutral,
            [one] => *one,
            _ if all => self.add_bit(Bit::All(parts)),
            _ => self.add_bit(Bit::Any(parts)),
        }
    }

    /// Makes sure that a handle has a variable.
    pub(super) fn seen(&mut self, program: &Program, handle: Handle) -> Fits<()> {
        self.var(program, handle).map(drop)
    }

    fn var(&mut self, program: &Program, handle: Handle) -> Fits<VarId> {
        if let Some(var) = self.find_var(handle) {
            return Ok(var);
        }
        let control = |id: ControlId| program.parts.controls.get(usize::from(id.0));
        let kind = match handle {
            Handle::Control(id) => match fits(control(id))?.kind {
                ref kind if positions(kind).is_some() => Kind::Switch(positions(kind).unwrap_or(2) as u8),
                _ => Kind::Axis(Fix::HUNDRED),
            },
            Handle::Trim(id) => match fits(control(id))?.kind {
                ControlKind::Stick { trim: Some(trim), .. } => Kind::Axis(Fix::of(trim)),
                _ => Kind::Axis(Fix::ZERO),
            },
        };
        let var = self.vars.len() as VarId;
        self.vars.push((handle, kind));
        self.var_ids.insert(handle, var);
        Ok(var)
    }

    /// A linear form put together: equal nodes once, constants and other forms taken in.
    fn lin(&mut self, mut constant: Fix, parts: Vec<(Fix, NumId)>) -> Fits<NumId> {
        let mut terms: Vec<(Fix, NumId)> = Vec::with_capacity(parts.len());
        for (by, id) in parts {
            match self.num(id).clone() {
                Num::Const(value) => constant = fits(constant.add(fits(value.mul(by))?))?,
                Num::Lin { constant: inner, terms: more } => {
                    constant = fits(constant.add(fits(inner.mul(by))?))?;
                    for (factor, node) in more {
                        terms.push((fits(factor.mul(by))?, node));
                    }
                }
                _ => terms.push((by, id)),
            }
        }
        terms.sort_by_key(|&(_, id)| id);
        let mut merged: Vec<(Fix, NumId)> = Vec::with_capacity(terms.len());
        for (by, id) in terms {
            match merged.last_mut() {
                Some(last) if last.1 == id => last.0 = fits(last.0.add(by))?,
                _ => merged.push((by, id)),
            }
        }
        merged.retain(|(by, _)| !by.is_zero());
        Ok(match merged.as_slice() {
            [] => self.add_num(Num::Const(constant)),
            [(by, id)] if *by == Fix::ONE && constant.is_zero() => *id,
            _ => self.add_num(Num::Lin { constant, terms: merged }),
        })
    }

    /// The one node that a form is a multiple of, with the multiple.
    fn factor(&self, id: NumId) -> Option<(Fix, NumId)> {
        match self.num(id) {
            Num::Lin { constant, terms } if constant.is_zero() => match terms.as_slice() {
                [one] => Some(*one),
                _ => None,
            },
            Num::Lin { .. } | Num::Const(_) => None,
            _ => Some((Fix::ONE, id)),
        }
    }

    fn product(&mut self, a: NumId, b: NumId) -> Fits<NumId> {
        let hundredth = fits(Fix::ONE.div(Fix::HUNDRED))?;
        for (one, other) in [(a, b), (b, a)] {
            if let Num::Const(value) = *self.num(one) {
                return self.lin(Fix::ZERO, vec![(fits(value.mul(hundredth))?, other)]);
            }
        }
        let (by, x) = self.factor(a).unwrap_or((Fix::ONE, a));
        let (times, y) = self.factor(b).unwrap_or((Fix::ONE, b));
        let node = if x == y { self.add_num(Num::Square(x)) } else { self.add_num(Num::Mul(x.min(y), x.max(y))) };
        self.lin(Fix::ZERO, vec![(fits(fits(by.mul(times))?.mul(hundredth))?, node)])
    }

    fn choose(&mut self, lines: Vec<(BitId, NumId)>, otherwise: NumId) -> NumId {
        let (mut kept, mut last) = (Vec::with_capacity(lines.len()), otherwise);
        for (when, value) in lines {
            match self.bit(when) {
                Bit::Const(false) => {}
                Bit::Const(true) => {
                    last = value;
                    break;
                }
                _ => kept.push((when, value)),
            }
        }
        while kept.pop_if(|line: &mut (BitId, NumId)| line.1 == last).is_some() {}
        if kept.is_empty() { last } else { self.add_num(Num::Choose { lines: kept, otherwise: last }) }
    }

    fn number(&mut self, value: Number) -> NumId {
        self.add_num(Num::Const(Fix::of(value)))
    }

    fn shaped(&mut self, program: &Program, id: ControlId) -> Fits<NumId> {
        if let Some(&known) = self.shaped.get(&id.0) {
            return Ok(known);
        }
        let var = self.var(program, Handle::Control(id))?;
        let raw = self.add_num(Num::Var(var));
        let kind = fits(program.parts.controls.get(usize::from(id.0)))?.kind.clone();
        let node = match kind {
            ControlKind::Stick { trim, rates, .. } => {
                let mut lines = Vec::new();
                for rate in &rates {
                    let when = match &rate.when {
                        Some(when) => self.condition(program, when)?,
                        None => self.constant(true),
                    };
                    let share = fits(Fix::of(rate.rate).div(Fix::HUNDRED))?;
                    let k = Fix::of(rate.expo);
                    let node = if k.is_zero() { raw } else { self.add_num(Num::Expo { of: raw, k }) };
                    lines.push((when, self.lin(Fix::ZERO, vec![(share, node)])?));
                }
                let stick = self.choose(lines, raw);
                match trim {
                    Some(trim) if !Fix::of(trim).is_zero() => {
                        let trim = self.var(program, Handle::Trim(id))?;
                        let trim = self.add_num(Num::Var(trim));
                        self.lin(Fix::ZERO, vec![(Fix::ONE, stick), (Fix::ONE, trim)])?
                    }
                    _ => stick,
                }
            }
            _ => raw,
        };
        self.shaped.insert(id.0, node);
        Ok(node)
    }

    fn value(&mut self, program: &Program, value: &Value) -> Fits<NumId> {
        Ok(match value {
            Value::Percent(number) => self.number(*number),
            Value::Control(id) => self.shaped(program, *id)?,
            Value::Unshaped(id) => {
                let var = self.var(program, Handle::Control(*id))?;
                self.add_num(Num::Var(var))
            }
            Value::Channel(number) => self.percent(program, *number)?,
            Value::Curve(id, of) => {
                let of = self.value(program, of)?;
                match self.num(of).clone() {
                    Num::Const(at) => {
                        let y = fits(program.shapes.get(usize::from(id.0)))?.at(&exact(at.number()));
                        self.add_num(Num::Const(fits(Fix::narrow(&y))?))
                    }
                    _ => self.add_num(Num::Curve { curve: id.0, of }),
                }
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
                self.lin(Fix::ZERO, vec![(Fix::ONE, a), (Fix::ONE, b)])?
            }
            Value::Subtract(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.lin(Fix::ZERO, vec![(Fix::ONE, a), (Fix::whole(-1), b)])?
            }
            Value::Multiply(a, b) => {
                let (a, b) = (self.value(program, a)?, self.value(program, b)?);
                self.product(a, b)?
            }
            Value::Negate(of) => {
                let of = self.value(program, of)?;
                self.lin(Fix::ZERO, vec![(Fix::whole(-1), of)])?
            }
        })
    }

    fn least(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x <= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.add_num(Num::Min(a.min(b), a.max(b))),
        }
    }

    fn greatest(&mut self, a: NumId, b: NumId) -> NumId {
        match (self.num(a), self.num(b)) {
            (Num::Const(x), Num::Const(y)) => {
                if x >= y {
                    a
                } else {
                    b
                }
            }
            _ if a == b => a,
            _ => self.add_num(Num::Max(a.min(b), a.max(b))),
        }
    }

    /// A channel's value before output. The channel is there: that was checked.
    pub(super) fn percent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        if let Some(&known) = self.channels.get(&number) {
            return Ok(known);
        }
        let channel = fits(program.channel(number))?;
        let mut lines = Vec::with_capacity(channel.lines.len());
        for line in &channel.lines {
            let when = match &line.when {
                Some(when) => self.condition(program, when)?,
                None => self.constant(true),
            };
            lines.push((when, self.value(program, &line.value)?));
        }
        let zero = self.add_num(Num::Const(Fix::ZERO));
        let node = self.choose(lines, zero);
        self.channels.insert(number, node);
        Ok(node)
    }

    /// The pulse that a channel sends, in microseconds.
    pub(super) fn sent(&mut self, program: &Program, number: u16) -> Fits<NumId> {
        if let Some(&known) = self.sent.get(&number) {
            return Ok(known);
        }
        let channel = fits(program.channel(number))?.clone();
        let value = self.percent(program, number)?;
        let sign = if channel.reversed { Fix::whole(-1) } else { Fix::ONE };
        let turned = self.lin(Fix::of(channel.subtrim), vec![(sign, value)])?;
        let (low, high) = (self.number(channel.travel.0), self.number(channel.travel.1));
        let under = self.least(turned, high);
        let clamped = self.greatest(under, low);
        let scale = program.parts.scale;
        let centre = Fix::of(channel.centre.unwrap_or(scale.centre));
        let node = self.lin(centre, vec![(fits(Fix::of(scale.span).div(Fix::HUNDRED))?, clamped)])?;
        self.sent.insert(number, node);
        Ok(node)
    }

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

    fn condition(&mut self, program: &Program, condition: &Condition) -> Fits<BitId> {
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
