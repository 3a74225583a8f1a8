//! Whether parts can be a program: references, numbers, limits, and no loops.

use crate::signal::number::decimal::Number;
use crate::signal::program::compiled::{DEEPEST, Fed, Flaw, MOST_HELD, MOST_PARTS, MOST_POSITIONS, positions, sound};
use crate::signal::program::parts::*;
use num_traits::{Signed, Zero};
use rustc_hash::FxHashMap;

/// The longest chain of channels and conditions that are computed from one another.
const LONGEST_CHAIN: usize = 100;

/// The greatest power of a control in a value: products, expo and smooth curves multiply up.
const HIGHEST_DEGREE: usize = 81;

/// Checks everything a [`super::Compiled`] relies on.
pub(in crate::signal) fn check(parts: &Parts) -> Result<(), Flaw> {
    let counts =
        [parts.controls.len(), parts.curves.len(), parts.conditions.len(), parts.channels.len(), parts.modes.len()];
    limit(counts.into_iter().max().unwrap_or(0), MOST_PARTS, "controls, curves, conditions, channels or modes")?;
    sound(parts.scale.centre)?;
    positive(parts.scale.span)?;
    let mut numbers: Vec<(u16, usize)> = (0..).zip(&parts.channels).map(|(index, c)| (c.number, index)).collect();
    numbers.sort_unstable();
    if let Some(pair) = numbers.windows(2).find(|pair| pair[0].0 == pair[1].0) {
        return Err(Flaw::Twice(pair[0].0));
    }
    let mut checker = Checker { parts, numbers: &numbers, feeds: Vec::new(), inside: true };
    let mut ends = Vec::with_capacity(parts.conditions.len() + parts.channels.len());
    for control in &parts.controls {
        checker.control(control)?;
    }
    checker.feeds.clear();
    parts.curves.iter().try_for_each(curve)?;
    for named in &parts.conditions {
        match &named.kind {
            NamedKind::Plain(condition) => checker.condition(condition, 0)?,
            NamedKind::Latch { set, reset } => {
                checker.condition(set, 0)?;
                checker.condition(reset, 0)?;
            }
        }
        ends.push(checker.feeds.len());
    }
    for channel in &parts.channels {
        checker.channel(channel)?;
        ends.push(checker.feeds.len());
    }
    for mode in &parts.modes {
        for &(_, low, high) in &mode.ranges {
            sound(low)?;
            sound(high)?;
        }
    }
    Feeds { parts, numbers: &numbers, all: &checker.feeds, ends: &ends, done: vec![None; ends.len()] }.loops()?;
    let mut degrees = FxHashMap::default();
    parts.channels.iter().try_for_each(|c| degree_of_channel(parts, c, &mut degrees).map(drop))
}

/// Checks a condition that a question asks about: it may look at channels that have no value.
pub(in crate::signal) fn check_asked(parts: &Parts, condition: &Condition) -> Result<(), Flaw> {
    Checker { parts, numbers: &[], feeds: Vec::new(), inside: false }.condition(condition, 0)
}

/// What the checks share; collects what the thing under check is computed from.
struct Checker<'a> {
    parts: &'a Parts,
    /// Each channel's number and its index, in order.
    numbers: &'a [(u16, usize)],
    feeds: Vec<Fed>,
    /// The condition stands in the model, so every channel it looks at must have a value.
    inside: bool,
}

impl<'a> Checker<'a> {
    fn control(&mut self, control: &Control) -> Result<(), Flaw> {
        match &control.kind {
            ControlKind::Stick { trim, rates, .. } => {
                if let Some(trim) = trim {
                    sound(*trim)?;
                    require(!trim.is_negative())?;
                }
                for rate in rates {
                    sound(rate.rate)?;
                    sound(rate.expo)?;
                    require(!rate.expo.is_negative() && rate.expo <= Number::from_integer(100))?;
                    rate.when.iter().try_for_each(|when| self.condition(when, 0))?;
                }
                Ok(())
            }
            ControlKind::Switch { positions, sprung_to } => {
                limit(positions.len(), MOST_POSITIONS, "positions of a switch")?;
                reference(positions.len() >= 2 && sprung_to.is_none_or(|at| usize::from(at) < positions.len()))
            }
            ControlKind::Axis | ControlKind::Button => Ok(()),
        }
    }

    fn channel(&mut self, channel: &Channel) -> Result<(), Flaw> {
        for line in &channel.lines {
            self.value(&line.value, 0)?;
            line.when.iter().try_for_each(|when| self.condition(when, 0))?;
        }
        for number in [channel.subtrim, channel.travel.0, channel.travel.1] {
            sound(number)?;
        }
        channel.centre.map_or(Ok(()), sound)?;
        require(channel.travel.0 <= channel.travel.1)?;
        require(!matches!(channel.carriage, Carriage::Levels(0 | 1)))
    }

    fn value(&mut self, value: &Value, depth: usize) -> Result<(), Flaw> {
        limit(depth, DEEPEST, "levels of nesting")?;
        match value {
            Value::Percent(number) => sound(*number),
            Value::Control(id) => {
                reference(self.kind(*id).is_some())?;
                let rates = match self.kind(*id) {
                    Some(ControlKind::Stick { rates, .. }) => rates.as_slice(),
                    _ => &[],
                };
                rates.iter().filter_map(|r| r.when.as_ref()).try_for_each(|when| self.condition(when, 0))
            }
            Value::Unshaped(id) => {
                reference(matches!(self.kind(*id), Some(ControlKind::Stick { .. } | ControlKind::Axis)))
            }
            Value::Channel(number) => self.feed_channel(*number, false),
            Value::Curve(id, of) => {
                reference(self.parts.curves.get(usize::from(id.0)).is_some())?;
                self.value(of, depth + 1)
            }
            Value::Negate(of) => self.value(of, depth + 1),
            Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
                self.value(a, depth + 1)?;
                self.value(b, depth + 1)
            }
        }
    }

    fn condition(&mut self, condition: &Condition, depth: usize) -> Result<(), Flaw> {
        limit(depth, DEEPEST, "levels of nesting")?;
        match condition {
            Condition::Constant(_) => Ok(()),
            Condition::At(id, at) | Condition::Becomes(id, at) => {
                let found = self.kind(*id).map(positions);
                reference(match at {
                    Position::Index(at) => found.flatten().is_some_and(|n| usize::from(*at) < n),
                    Position::Low => found == Some(None),
                })
            }
            Condition::Axis(id, bounds) => {
                reference(self.kind(*id).is_some_and(|k| positions(k).is_none()))?;
                sound_bounds(bounds)
            }
            Condition::Channel(number, measure, bounds) => {
                sound_bounds(bounds)?;
                self.feed_channel(*number, *measure == Measure::Received)
            }
            Condition::Mode(id, measure) => {
                let mode = self.parts.modes.get(usize::from(id.0)).ok_or(Flaw::Reference)?;
                mode.ranges.iter().try_for_each(|r| self.feed_channel(r.0, *measure == Measure::Received))
            }
            Condition::Named(id) => {
                reference(self.parts.conditions.get(usize::from(id.0)).is_some())?;
                if self.inside {
                    self.feeds.push(Fed::Condition(*id));
                }
                Ok(())
            }
            Condition::Held(number, of) => {
                require(*number < MOST_HELD)?;
                self.condition(of, depth + 1)
            }
            Condition::Not(of) => self.condition(of, depth + 1),
            Condition::All(of) | Condition::Any(of) => of.iter().try_for_each(|c| self.condition(c, depth + 1)),
        }
    }

    fn kind(&self, id: ControlId) -> Option<&'a ControlKind> {
        self.parts.controls.get(usize::from(id.0)).map(|c| &c.kind)
    }

    fn feed_channel(&mut self, number: u16, received: bool) -> Result<(), Flaw> {
        if !self.inside {
            return Ok(());
        }
        let index = index_of(self.numbers, number).ok_or(Flaw::NoChannel(number))?;
        let channel = &self.parts.channels[index];
        if received && channel.carriage == Carriage::Not {
            return Err(Flaw::NoChannel(number));
        }
        self.feeds.push(Fed::Channel(number));
        Ok(())
    }
}

fn curve(curve: &Curve) -> Result<(), Flaw> {
    for &(x, y) in &curve.points {
        sound(x)?;
        sound(y)?;
    }
    require(curve.points.len() >= 2 && curve.points.windows(2).all(|p| p[0].0 < p[1].0))
}

fn sound_bounds(bounds: &Bounds) -> Result<(), Flaw> {
    bounds.low.iter().chain(&bounds.high).try_for_each(|b| sound(b.at))
}

fn positive(number: Number) -> Result<(), Flaw> {
    sound(number)?;
    require(number.is_positive() && !number.is_zero())
}

const fn reference(good: bool) -> Result<(), Flaw> {
    if good { Ok(()) } else { Err(Flaw::Reference) }
}

const fn require(good: bool) -> Result<(), Flaw> {
    if good { Ok(()) } else { Err(Flaw::Number) }
}

const fn limit(count: usize, limit: usize, what: &'static str) -> Result<(), Flaw> {
    if count > limit { Err(Flaw::TooMany { what, limit }) } else { Ok(()) }
}

fn index_of(numbers: &[(u16, usize)], number: u16) -> Option<usize> {
    let at = numbers.binary_search_by_key(&number, |known| known.0).ok()?;
    Some(numbers[at].1)
}

/// What feeds what: conditions first, then channels.
struct Feeds<'a> {
    parts: &'a Parts,
    numbers: &'a [(u16, usize)],
    /// Of all conditions and channels, one after the other.
    all: &'a [Fed],
    /// Where those of each end.
    ends: &'a [usize],
    /// The chain length below each one whose search is over.
    done: Vec<Option<usize>>,
}

impl Feeds<'_> {
    /// Finds a loop by depth-first search; also bounds the longest chain.
    fn loops(mut self) -> Result<(), Flaw> {
        let conditions = (0..).map(ConditionId).zip(&self.parts.conditions).map(|(id, _)| Fed::Condition(id));
        let channels = self.numbers.iter().map(|&(number, _)| Fed::Channel(number));
        let mut path = Vec::new();
        conditions.chain(channels).try_for_each(|name| self.visit(name, &mut path).map(drop))
    }

    fn visit(&mut self, at: Fed, path: &mut Vec<Fed>) -> Result<usize, Flaw> {
        let index = match at {
            Fed::Condition(id) => Some(usize::from(id.0)),
            Fed::Channel(number) => index_of(self.numbers, number).map(|index| index + self.parts.conditions.len()),
        };
        let Some(index) = index else { return Ok(0) };
        if let Some(length) = self.done[index] {
            return Ok(length);
        }
        if let Some(start) = path.iter().position(|&f| f == at) {
            return Err(Flaw::Cycle(path[start..].to_vec()));
        }
        path.push(at);
        limit(path.len(), LONGEST_CHAIN, "channels and conditions computed from one another")?;
        let (all, mut length) = (self.all, 0);
        let start = if index == 0 { 0 } else { self.ends[index - 1] };
        for &from in &all[start..self.ends[index]] {
            length = length.max(1 + self.visit(from, path)?);
        }
        limit(length, LONGEST_CHAIN, "channels and conditions computed from one another")?;
        path.pop();
        self.done[index] = Some(length);
        Ok(length)
    }
}

/// The greatest power to which a control can enter a channel's value: it bounds the size of exact numbers. `known` holds
/// the channels that others look at.
fn degree_of_channel(parts: &Parts, channel: &Channel, known: &mut FxHashMap<u16, usize>) -> Result<usize, Flaw> {
    let mut most = 0;
    for line in &channel.lines {
        most = most.max(degree(parts, &line.value, known)?);
    }
    Ok(most)
}

fn degree(parts: &Parts, value: &Value, known: &mut FxHashMap<u16, usize>) -> Result<usize, Flaw> {
    let degree = match value {
        Value::Percent(_) => 0,
        Value::Unshaped(_) => 1,
        Value::Control(id) => match parts.controls.get(usize::from(id.0)).map(|c| &c.kind) {
            Some(ControlKind::Stick { rates, .. }) if rates.iter().any(|r| !r.expo.is_zero()) => 3,
            _ => 1,
        },
        Value::Channel(number) => match (known.get(number), parts.channels.iter().find(|c| c.number == *number)) {
            (Some(&degree), _) => degree,
            (None, Some(channel)) => {
                let degree = degree_of_channel(parts, channel, known)?;
                known.insert(*number, degree);
                degree
            }
            (None, None) => 0,
        },
        Value::Curve(id, of) => {
            let smooth = parts.curves.get(usize::from(id.0)).is_some_and(|c| c.smooth);
            degree(parts, of, known)? * if smooth { 3 } else { 1 }
        }
        Value::Negate(of) => degree(parts, of, known)?,
        Value::Multiply(a, b) => degree(parts, a, known)? + degree(parts, b, known)?,
        Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) => {
            degree(parts, a, known)?.max(degree(parts, b, known)?)
        }
    };
    limit(degree, HIGHEST_DEGREE, "factors of controls in one product")?;
    Ok(degree)
}
