//! Whether parts can be a program: references, limits, and no loops.

use crate::signal::number::rational64::whole;
use crate::signal::program::parts::*;
use crate::signal::program::reason::{
    DEEPEST, Fed, Flaw, HIGHEST_DEGREE, LONGEST_CHAIN, MOST_HELD, MOST_LEVELS, MOST_PARTS, MOST_POSITIONS, Part, Reason,
};
use rustc_hash::FxHashMap;

type Sound = Result<(), Reason>;

/// Checks everything that the rest relies on: all flaws, or none. One that is about all of it stands alone.
pub(in crate::signal) fn check(parts: &Parts) -> Vec<Flaw> {
    if let Err(reason) = as_a_whole(parts) {
        return vec![Flaw { reason, part: Part::Whole }];
    }
    let mut numbers: Vec<(u16, usize)> = (0..).zip(&parts.channels).map(|(index, c)| (c.number, index)).collect();
    numbers.sort_unstable();
    if numbers.windows(2).any(|pair| pair[0].0 == pair[1].0) {
        return vec![Flaw { reason: Reason::Malformed("a channel twice"), part: Part::Whole }];
    }
    let mut flaws = Vec::new();
    let mut checker = Checker { parts, numbers: &numbers, feeds: Vec::new(), levels: 0, inside: true };
    let mut note = |part: Part, found: Sound| flaws.extend(found.err().map(|reason| Flaw { reason, part }));
    for (id, control) in (0..).map(ControlId).zip(&parts.controls) {
        note(Part::Control(id), checker.control(control));
    }
    for (id, known) in (0..).map(CurveId).zip(&parts.curves) {
        note(Part::Curve(id), curve(known));
    }
    checker.feeds.clear();
    let mut nodes = Vec::with_capacity(parts.conditions.len() + parts.channels.len());
    for (id, named) in (0..).map(ConditionId).zip(&parts.conditions) {
        checker.levels = 0;
        note(Part::Condition(id), checker.named(named));
        nodes.push(Node { end: checker.feeds.len(), levels: checker.levels, done: None });
    }
    for channel in &parts.channels {
        checker.levels = 0;
        note(Part::Channel(channel.number), checker.channel(channel));
        nodes.push(Node { end: checker.feeds.len(), levels: checker.levels, done: None });
    }
    let mut feeds = Feeds { parts, numbers: &numbers, all: &checker.feeds, nodes, flaws };
    feeds.loops();
    let mut flaws = feeds.flaws;
    // A chain of values is gone through from its end, which has to have one.
    if flaws.is_empty() {
        let mut known = FxHashMap::default();
        for channel in &parts.channels {
            let found = degree_of_channel(parts, channel, &mut known).map(drop);
            flaws.extend(found.err().map(|reason| Flaw { reason, part: Part::Channel(channel.number) }));
        }
    }
    flaws
}

/// Checks a condition that a question asks about: it may look at channels that have no value.
pub(in crate::signal) fn check_asked(parts: &Parts, condition: &Condition) -> Sound {
    Checker { parts, numbers: &[], feeds: Vec::new(), levels: 0, inside: false }.condition(condition, 0)
}

/// What has to hold for there to be a program at all.
fn as_a_whole(parts: &Parts) -> Sound {
    for (count, what) in [
        (parts.controls.len(), "controls"),
        (parts.curves.len(), "curves"),
        (parts.conditions.len(), "conditions"),
        (parts.channels.len(), "channels"),
        (parts.modes.len(), "modes"),
    ] {
        limit(count, MOST_PARTS, Reason::TooManyParts(what))?;
    }
    if parts.scale.span > whole(0) { Ok(()) } else { Err(Reason::FlatScale) }
}

/// What the checks share; collects what the thing under check is computed from.
struct Checker<'a> {
    parts: &'a Parts,
    /// Each channel's number and its index, in order.
    numbers: &'a [(u16, usize)],
    feeds: Vec<Fed>,
    /// The deepest nesting that was met.
    levels: usize,
    /// The condition stands in the model, so every channel it looks at must have a value.
    inside: bool,
}

impl<'a> Checker<'a> {
    fn control(&mut self, control: &Control) -> Sound {
        match &control.kind {
            ControlKind::Stick { trim, rates, .. } => {
                if let Some(trim) = trim {
                    require(!trim.is_negative(), "a trim range below 0")?;
                }
                for rate in rates {
                    let within = rate.expo >= whole(-50) && rate.expo <= whole(100);
                    require(within, "an expo that is no share")?;
                    rate.when.iter().try_for_each(|when| self.condition(when, 0))?;
                }
                Ok(())
            }
            ControlKind::Switch { positions, sprung_to } => {
                let count = positions.len();
                require((2..=MOST_POSITIONS).contains(&count), "a switch of too few or too many positions")?;
                require(sprung_to.is_none_or(|at| usize::from(at) < count), "a switch that springs to no position")
            }
            ControlKind::Axis { .. } | ControlKind::Button { .. } | ControlKind::Reported => Ok(()),
        }
    }

    fn named(&mut self, named: &Named) -> Sound {
        match &named.kind {
            NamedKind::Plain(condition) => self.condition(condition, 0),
            NamedKind::Toggle(on) => self.condition(on, 0),
            NamedKind::Latch { set, reset } => {
                self.condition(set, 0)?;
                self.condition(reset, 0)
            }
        }
    }

    fn channel(&mut self, channel: &Channel) -> Sound {
        for line in &channel.lines {
            self.value(&line.value, 0)?;
            line.when.iter().try_for_each(|when| self.condition(when, 0))?;
        }
        require(channel.ends.0 <= channel.ends.1, "ends the wrong way round")?;
        require(channel.travel.0 <= channel.travel.1, "travel the wrong way round")?;
        require(!matches!(channel.carriage, Carriage::Levels(0 | 1)), "a link with fewer than two levels")
    }

    fn deeper(&mut self, depth: usize) -> Sound {
        self.levels = self.levels.max(depth);
        limit(depth, DEEPEST, Reason::TooDeep)
    }

    fn value(&mut self, value: &Value, depth: usize) -> Sound {
        self.deeper(depth)?;
        match value {
            Value::Percent(_) => Ok(()),
            Value::Unknown(id) => self.unknown(*id),
            Value::Control(id) => {
                let Some(kind) = self.kind(*id) else { return Err(NOWHERE) };
                let rates = if let ControlKind::Stick { rates, .. } = kind { rates.as_slice() } else { &[] };
                rates.iter().filter_map(|r| r.when.as_ref()).try_for_each(|when| self.condition(when, 0))
            }
            Value::Unshaped(id) => {
                reference(matches!(self.kind(*id), Some(ControlKind::Stick { .. } | ControlKind::Axis { .. })))
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

    fn condition(&mut self, condition: &Condition, depth: usize) -> Sound {
        self.deeper(depth)?;
        match condition {
            Condition::Constant(_) => Ok(()),
            Condition::Unknown(id) => self.unknown(*id),
            Condition::At(id, at) | Condition::Becomes(id, at) => {
                let found = self.kind(*id).map(positions);
                reference(match at {
                    Position::Index(at) => found.flatten().is_some_and(|n| usize::from(*at) < n),
                    Position::Low | Position::Centre | Position::High => found == Some(None),
                })
            }
            Condition::Axis(id, _) => reference(self.kind(*id).is_some_and(|k| positions(k).is_none())),
            Condition::Channel(number, measure, _) => self.feed_channel(*number, *measure == Measure::Received),
            Condition::Mode(id, measure) => {
                let mode = self.parts.modes.get(usize::from(id.0)).ok_or(NOWHERE)?;
                mode.any_of.iter().flatten().try_for_each(|r| self.feed_channel(r.0, *measure == Measure::Received))
            }
            Condition::Named(id) => {
                reference(self.parts.conditions.get(usize::from(id.0)).is_some())?;
                if self.inside {
                    self.feeds.push(Fed::Condition(*id));
                }
                Ok(())
            }
            Condition::Held(number, of) => {
                if *number >= MOST_HELD {
                    return Err(Reason::TooManyHeld);
                }
                self.condition(of, depth + 1)
            }
            Condition::Not(of) => self.condition(of, depth + 1),
            Condition::All(of) | Condition::Any(of) => of.iter().try_for_each(|c| self.condition(c, depth + 1)),
        }
    }

    fn kind(&self, id: ControlId) -> Option<&'a ControlKind> {
        self.parts.controls.get(usize::from(id.0)).map(|c| &c.kind)
    }

    fn unknown(&self, id: UnknownId) -> Sound {
        reference(usize::from(id.0) < self.parts.unknown.len())
    }

    fn feed_channel(&mut self, number: u16, received: bool) -> Sound {
        if !self.inside {
            return Ok(());
        }
        let Some(index) = index_of(self.numbers, number) else {
            // What is not known may define it.
            return if self.parts.elsewhere.is_some() { Ok(()) } else { Err(Reason::NoChannel(number)) };
        };
        if received && self.parts.channels[index].carriage == Carriage::Not {
            return Err(Reason::NoChannel(number));
        }
        self.feeds.push(Fed::Channel(number));
        Ok(())
    }
}

/// Whether a curve has two points or more, whose x rise.
fn curve(curve: &Curve) -> Sound {
    let rises = curve.points.len() >= 2 && curve.points.windows(2).all(|p| p[0].0 < p[1].0);
    require(rises, "a curve whose points do not rise")
}

const NOWHERE: Reason = Reason::Malformed("a reference that points nowhere");

const fn reference(good: bool) -> Sound {
    if good { Ok(()) } else { Err(NOWHERE) }
}

const fn require(good: bool, what: &'static str) -> Sound {
    if good { Ok(()) } else { Err(Reason::Malformed(what)) }
}

fn limit(count: usize, limit: usize, reason: Reason) -> Sound {
    if count > limit { Err(reason) } else { Ok(()) }
}

fn index_of(numbers: &[(u16, usize)], number: u16) -> Option<usize> {
    let at = numbers.binary_search_by_key(&number, |known| known.0).ok()?;
    Some(numbers[at].1)
}

/// A condition or a channel, as far as others are computed from it.
struct Node {
    /// Where what it is computed from ends, in the list of all.
    end: usize,
    /// How deep it is nested.
    levels: usize,
    /// The length of the chain below it and the levels in that, once its search is over.
    done: Option<(usize, usize)>,
}

/// What feeds what: conditions first, then channels.
struct Feeds<'a> {
    parts: &'a Parts,
    numbers: &'a [(u16, usize)],
    /// Of all conditions and channels, one after the other.
    all: &'a [Fed],
    nodes: Vec<Node>,
    flaws: Vec<Flaw>,
}

impl Feeds<'_> {
    /// Finds loops by depth-first search; also bounds the longest chain.
    fn loops(&mut self) {
        let conditions = (0..).map(ConditionId).zip(&self.parts.conditions).map(|(id, _)| Fed::Condition(id));
        let channels = self.numbers.iter().map(|&(number, _)| Fed::Channel(number));
        let mut path = Vec::new();
        conditions.chain(channels).for_each(|name| {
            self.visit(name, &mut path);
        });
    }

    fn flaw(&mut self, at: Fed, reason: Reason) {
        let part = match at {
            Fed::Channel(number) => Part::Channel(number),
            Fed::Condition(id) => Part::Condition(id),
        };
        if !self.flaws.iter().any(|known| known.part == part) {
            self.flaws.push(Flaw { reason, part });
        }
    }

    /// The length of the chain that ends here, and the levels of nesting in it.
    fn visit(&mut self, at: Fed, path: &mut Vec<Fed>) -> (usize, usize) {
        let index = match at {
            Fed::Condition(id) => Some(usize::from(id.0)),
            Fed::Channel(number) => index_of(self.numbers, number).map(|index| index + self.parts.conditions.len()),
        };
        let Some(index) = index else { return (0, 0) };
        if let Some(known) = self.nodes[index].done {
            return known;
        }
        if let Some(start) = path.iter().position(|&f| f == at) {
            let circle = path[start..].to_vec();
            for &member in &path[start..] {
                self.flaw(member, Reason::Cycle(circle.clone()));
            }
            return (0, 0);
        }
        if path.len() >= LONGEST_CHAIN {
            self.flaw(at, Reason::TooLong);
            return (0, 0);
        }
        path.push(at);
        let (mut length, mut levels) = (0, 0);
        let start = if index == 0 { 0 } else { self.nodes[index - 1].end };
        for feed in start..self.nodes[index].end {
            let below = self.visit(self.all[feed], path);
            (length, levels) = (length.max(below.0), levels.max(below.1));
        }
        path.pop();
        let mut found = (length + 1, levels + 1 + self.nodes[index].levels);
        if found.0 > LONGEST_CHAIN || found.1 > MOST_LEVELS {
            self.flaw(at, Reason::TooLong);
            // What is built on it is judged by itself: this part will be taken for unknown.
            found = (1, 1);
        }
        self.nodes[index].done = Some(found);
        found
    }
}

/// How many factors stand in a product of a channel's value at most: it bounds the size of exact numbers. `known` holds
/// the channels that others look at.
fn degree_of_channel(parts: &Parts, channel: &Channel, known: &mut FxHashMap<u16, usize>) -> Result<usize, Reason> {
    let mut most = 0;
    for line in &channel.lines {
        most = most.max(degree(parts, &line.value, known)?);
    }
    Ok(most)
}

fn degree(parts: &Parts, value: &Value, known: &mut FxHashMap<u16, usize>) -> Result<usize, Reason> {
    let degree = match value {
        Value::Unknown(_) => 0,
        Value::Percent(_) | Value::Unshaped(_) => 1,
        Value::Control(id) => match parts.controls.get(usize::from(id.0)).map(|c| &c.kind) {
            Some(ControlKind::Stick { rates, .. }) if rates.iter().any(|r| !r.expo.is_zero()) => 3,
            _ => 1,
        },
        Value::Channel(number) => match (known.get(number), parts.channels.iter().find(|c| c.number == *number)) {
            (Some(&degree), _) => degree,
            (None, Some(channel)) => {
                // One that has too many itself is found where it is looked at, and counts for others as the most.
                let degree = degree_of_channel(parts, channel, known).unwrap_or(HIGHEST_DEGREE);
                known.insert(*number, degree);
                degree
            }
            (None, None) => 0,
        },
        Value::Curve(id, of) => {
            let smooth = parts.curves.get(usize::from(id.0)).is_some_and(|c| c.rounded);
            // Each piece of a curve is a multiple of its argument.
            let inner = degree(parts, of, known)?;
            if smooth { inner * 3 } else { inner + 1 }
        }
        Value::Negate(of) => degree(parts, of, known)?,
        Value::Multiply(a, b) => degree(parts, a, known)? + degree(parts, b, known)?,
        Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) => {
            degree(parts, a, known)?.max(degree(parts, b, known)?)
        }
    };
    limit(degree, HIGHEST_DEGREE, Reason::TooManyFactors)?;
    Ok(degree)
}
