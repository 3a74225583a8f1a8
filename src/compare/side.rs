//! One side of two joined programs: where its parts stand in both together, and how what it says reads there.

use super::join::{Numbers, OLD_UNDEFINED, shaped, stepped};
use crate::fleet::Decimal;
use crate::signal::{
    Bound, Bounds, Carriage, Channel, Condition, ConditionId, Control, ControlId, ControlKind, CurveId, Handle, Line,
    Measure, Mode, ModeId, Movement, Named, NamedKind, Parts, Path, Position, Rate, Rational64, Scale, Setting, Stand,
    Unknown, UnknownId, Value, exact, whole,
};
use compact_str::CompactString;
use rustc_hash::FxHashMap;

/// Where a control stands among the joined ones, and its positions there where they are others.
pub(super) type Place = (ControlId, Option<Vec<Option<u8>>>);

/// One side. A part that has no place yet reads as nothing.
pub(super) struct Side {
    pub(super) controls: Vec<Place>,
    /// The numbers of the channels that give the values of controls that the sides read differently.
    shaped: FxHashMap<ControlId, u16>,
    /// Sticks whose shape may still turn out to be another.
    open: Vec<ControlId>,
    curves: Vec<Option<CurveId>>,
    conditions: Vec<Option<ConditionId>>,
    unknown: Vec<Option<UnknownId>>,
    channels: Numbers,
    held: FxHashMap<u8, u8>,
    /// Each `held` condition with its time.
    seconds: FxHashMap<u8, Option<Decimal>>,
    /// By `held` condition what is held for less, of the other side: it counts wherever the longer one does.
    shorter: FxHashMap<u8, Vec<Condition>>,
    modes: Vec<Option<ModeId>>,
    /// So far above their numbers stand channels that it looks at and does not define.
    undefined: u16,
    /// Its own scale and that of both together, where they are others.
    scales: Option<(Scale, Scale)>,
}

/// What is needed to find out what two sides share.
pub(super) struct Shared<'p> {
    pub(super) old: &'p Parts,
    pub(super) new: &'p Parts,
    /// The `held` conditions of the new side, with their times.
    pub(super) held: Vec<(u8, Option<Decimal>, Condition)>,
    /// The old sticks that are shaped as the new ones.
    pub(super) alike: Vec<ControlId>,
}

/// Every `held` condition of some parts.
pub(super) fn held(parts: &Parts) -> Vec<(u8, Condition)> {
    let mut found = Vec::new();
    let rates = parts.controls.iter().flat_map(|control| match &control.kind {
        ControlKind::Stick { rates, .. } => rates.as_slice(),
        _ => &[],
    });
    rates.filter_map(|rate| rate.when.as_ref()).for_each(|when| held_in(when, &mut found));
    for named in &parts.conditions {
        match &named.kind {
            NamedKind::Plain(of) | NamedKind::Toggle(of) => held_in(of, &mut found),
            NamedKind::Latch { set, reset } => [set, reset].into_iter().for_each(|of| held_in(of, &mut found)),
        }
    }
    let lines = parts.channels.iter().flat_map(|channel| &channel.lines);
    lines.filter_map(|line| line.when.as_ref()).for_each(|when| held_in(when, &mut found));
    found
}

fn held_in(condition: &Condition, found: &mut Vec<(u8, Condition)>) {
    match condition {
        Condition::Held(number, of) => {
            if found.iter().all(|(known, _)| known != number) {
                found.push((*number, of.as_ref().clone()));
            }
            held_in(of, found);
        }
        Condition::Not(of) => held_in(of, found),
        Condition::All(of) | Condition::Any(of) => of.iter().for_each(|of| held_in(of, found)),
        _ => {}
    }
}

impl Side {
    /// A side whose parts have no place yet.
    pub(super) fn new(
        controls: Vec<Place>,
        parts: &Parts,
        scale: Scale,
        seconds: &dyn Fn(u8) -> Option<Decimal>,
    ) -> Self {
        let sticks = (0..).map(ControlId).zip(&parts.controls);
        let open = sticks.filter(|(_, control)| matches!(control.kind, ControlKind::Stick { .. })).map(|(id, _)| id);
        Self {
            controls,
            shaped: FxHashMap::default(),
            open: open.collect(),
            curves: vec![None; parts.curves.len()],
            conditions: vec![None; parts.conditions.len()],
            unknown: vec![None; parts.unknown.len()],
            channels: Numbers::default(),
            held: FxHashMap::default(),
            seconds: held(parts).into_iter().map(|(number, _)| (number, seconds(number))).collect(),
            shorter: FxHashMap::default(),
            modes: vec![None; parts.modes.len()],
            undefined: OLD_UNDEFINED,
            scales: (parts.scale != scale).then_some((parts.scale, scale)),
        }
    }

    /// The side whose parts stand where they are.
    pub(super) fn identity(parts: &Parts, seconds: &dyn Fn(u8) -> Option<Decimal>) -> Self {
        let all = |count: usize| 0..count as u16;
        Self {
            controls: all(parts.controls.len()).map(|at| (ControlId(at), None)).collect(),
            shaped: FxHashMap::default(),
            open: Vec::new(),
            curves: all(parts.curves.len()).map(|at| Some(CurveId(at))).collect(),
            conditions: all(parts.conditions.len()).map(|at| Some(ConditionId(at))).collect(),
            unknown: all(parts.unknown.len()).map(|at| Some(UnknownId(at))).collect(),
            channels: parts.channels.iter().map(|channel| (channel.number, channel.number)).collect(),
            held: held(parts).into_iter().map(|(number, _)| (number, number)).collect(),
            seconds: held(parts).into_iter().map(|(number, _)| (number, seconds(number))).collect(),
            shorter: FxHashMap::default(),
            modes: all(parts.modes.len()).map(|at| Some(ModeId(at))).collect(),
            undefined: 0,
            scales: None,
        }
    }

    /// Has two channels stand in each other's places.
    pub(super) fn exchange(&mut self, [one, other]: [u16; 2]) {
        self.channels.insert(one, other);
        self.channels.insert(other, one);
    }

    /// A pulse of this side, in us, as both together read it; nothing where it can't be computed with. What 100 % and
    /// -100 % give stays what they give.
    pub(super) fn pulse(&self, us: Rational64) -> Option<Rational64> {
        let Some((own, joint)) = self.scales else { return Some(us) };
        let share = exact(us).minus(&exact(own.centre)).over(&exact(own.span));
        let there = share.times(&exact(joint.span)).plus(&exact(joint.centre));
        let near = there.rounded();
        (exact(near) == there).then_some(near)
    }

    /// The same of a range of pulses.
    pub(super) fn bounds(&self, bounds: Bounds) -> Option<Bounds> {
        let end = |end: Option<Bound>| match end {
            None => Some(None),
            Some(end) => self.pulse(end.at).map(|at| Some(Bound { at, ..end })),
        };
        Some(Bounds { low: end(bounds.low)?, high: end(bounds.high)? })
    }

    fn measured(&self, measure: Measure, bounds: Bounds) -> Option<Bounds> {
        match measure {
            Measure::Percent => Some(bounds),
            Measure::Sent | Measure::Received => self.bounds(bounds),
        }
    }

    /// Gives places to those parts that are the same as some of the other side; whether there were any.
    pub(super) fn share(&mut self, shared: &mut Shared<'_>) -> bool {
        let Shared { old, new, .. } = *shared;
        let mut found = false;
        for (at, curve) in old.curves.iter().enumerate() {
            let is = new.curves.iter().position(|it| it.points == curve.points && it.rounded == curve.rounded);
            found |= place(&mut self.curves, at, is.map(|is| CurveId(is as u16)));
        }
        for (at, unknown) in old.unknown.iter().enumerate() {
            // What is not stated on both sides is the same thing of the same aircraft; a line that was not understood may not be.
            let is = new.unknown.iter().position(|it| matches!(it, Unknown::NotStated(_)) && it == unknown);
            found |= place(&mut self.unknown, at, is.map(|is| UnknownId(is as u16)));
        }
        for (number, of) in held(old) {
            if self.held.contains_key(&number) {
                continue;
            }
            let Some(of) = self.condition_of(&of) else { continue };
            let seconds = self.seconds.get(&number).copied().flatten();
            if let Some((is, ..)) = shared.held.iter().find(|(_, time, known)| *time == seconds && *known == of) {
                self.held.insert(number, *is);
                found = true;
            }
        }
        for id in std::mem::take(&mut self.open) {
            let there = self.controls.get(usize::from(id.0)).and_then(|(is, _)| new.controls.get(usize::from(is.0)));
            let here = old.controls.get(usize::from(id.0));
            match here.zip(there).is_some_and(|(here, there)| self.shapes_alike(here, there)) {
                true => {
                    shared.alike.push(id);
                    found = true;
                }
                false => self.open.push(id),
            }
        }
        for (at, mode) in old.modes.iter().enumerate() {
            let defined = |number: u16| old.channels.iter().chain(&new.channels).any(|it| it.number == number);
            let is_open = old.elsewhere.is_some() || new.elsewhere.is_some();
            let channels = || mode.any_of.iter().flatten().map(|(channel, ..)| *channel);
            let same = |it: u16| self.channel(it) == Some(it) || !defined(it) && !is_open;
            if mode.unknown.is_none() && channels().all(same) {
                let Some(any_of) = self.any_of(mode, &Some) else { continue };
                let is = new.modes.iter().position(|other| other.any_of == any_of && other.unknown.is_none());
                found |= place(&mut self.modes, at, is.map(|is| ModeId(is as u16)));
            }
        }
        for (at, named) in old.conditions.iter().enumerate() {
            let Some(kind) = self.named(named).map(|named| named.kind) else { continue };
            let by_name = new.conditions.iter().position(|it| it.kind == kind && it.name == named.name);
            let is = by_name.or_else(|| new.conditions.iter().position(|it| it.kind == kind));
            found |= place(&mut self.conditions, at, is.map(|is| ConditionId(is as u16)));
        }
        for channel in &old.channels {
            if self.channels.contains_key(&channel.number) {
                continue;
            }
            let Some(whole) = self.whole_channel(channel) else { continue };
            let same = |other: &&Channel| {
                let number = other.number == channel.number || other.is_mix() && channel.is_mix();
                number && **other == Channel { number: other.number, name: other.name.clone(), ..whole.clone() }
            };
            if let Some(other) = new.channels.iter().find(same) {
                self.channels.insert(channel.number, other.number);
                found = true;
            }
        }
        found
    }

    fn shapes_alike(&self, here: &Control, there: &Control) -> bool {
        let ControlKind::Stick { trim, rates, .. } = &here.kind else { return false };
        let ControlKind::Stick { trim: other, rates: others, .. } = &there.kind else { return false };
        let rates: Option<Vec<Rate>> = rates.iter().map(|rate| self.rate(rate)).collect();
        trim == other && rates.as_ref() == Some(others)
    }

    /// Gives places behind those of the other side to the parts that are not shared; nothing where there are too many.
    pub(super) fn number(&mut self, own: &Parts, new: &Parts, channels: u16, mixes: u16) -> Option<()> {
        let mut next = new.curves.len() as u16;
        let behind = |next: &mut u16| {
            *next += 1;
            *next - 1
        };
        for place in self.curves.iter_mut().filter(|place| place.is_none()) {
            *place = Some(CurveId(behind(&mut next)));
        }
        next = new.conditions.len() as u16;
        for place in self.conditions.iter_mut().filter(|place| place.is_none()) {
            *place = Some(ConditionId(behind(&mut next)));
        }
        next = new.unknown.len() as u16;
        for place in self.unknown.iter_mut().filter(|place| place.is_none()) {
            *place = Some(UnknownId(behind(&mut next)));
        }
        next = new.modes.len() as u16;
        for place in self.modes.iter_mut().filter(|place| place.is_none()) {
            *place = Some(ModeId(behind(&mut next)));
        }
        for channel in &own.channels {
            let above = if channel.is_mix() { mixes } else { channels };
            self.channels.entry(channel.number).or_insert(channel.number + above);
        }
        let mut taken: Vec<u8> = held(new).into_iter().map(|(number, _)| number).collect();
        for (number, _) in held(own) {
            if self.held.contains_key(&number) {
                continue;
            }
            let free = (0..64).find(|free| !taken.contains(free))?;
            taken.push(free);
            self.held.insert(number, free);
        }
        self.open.clear();
        Some(())
    }

    /// Which `held` conditions of the other side count wherever longer ones of this one do, for the same.
    pub(super) fn order(&mut self, own: &Parts, others: &[(u8, Option<Decimal>, Condition)]) {
        for (number, of) in held(own) {
            let Some(inner) = self.condition_of(&of) else { continue };
            let Some(time) = self.seconds.get(&number).copied().flatten() else { continue };
            let is_shorter = |other: Option<Decimal>| other.is_some_and(|other| other < time);
            let shorter = others.iter().filter(|(_, other, known)| is_shorter(*other) && *known == inner);
            let shorter: Vec<Condition> =
                shorter.map(|(other, _, known)| Condition::Held(*other, Box::new(known.clone()))).collect();
            if !shorter.is_empty() {
                self.shorter.insert(number, shorter);
            }
        }
    }

    /// Its `held` conditions as they stand in both together, with their times.
    pub(super) fn held_there(&self, own: &Parts) -> Vec<(u8, Option<Decimal>, Condition)> {
        let there = held(own).into_iter().filter_map(|(number, of)| {
            let seconds = self.seconds.get(&number).copied().flatten();
            Some((*self.held.get(&number)?, seconds, self.condition_of(&of)?))
        });
        there.collect()
    }

    /// Has a channel stand for the value of a control.
    pub(super) fn shape(&mut self, control: ControlId, number: u16) {
        self.shaped.insert(control, number);
    }

    /// Where a channel stands. One that is not defined may be looked at all the same.
    pub(super) fn channel(&self, number: u16) -> Option<u16> {
        self.channels.get(&number).copied()
    }

    pub(super) fn condition(&self, id: ConditionId) -> Option<ConditionId> {
        self.conditions.get(usize::from(id.0)).copied().flatten()
    }

    pub(super) fn curve(&self, id: CurveId) -> Option<CurveId> {
        self.curves.get(usize::from(id.0)).copied().flatten()
    }

    pub(super) fn unknown(&self, id: UnknownId) -> Option<UnknownId> {
        self.unknown.get(usize::from(id.0)).copied().flatten()
    }

    /// The conditions that have a place.
    pub(super) fn conditions(&self) -> impl Iterator<Item = (ConditionId, ConditionId)> {
        let all = (0..).map(ConditionId).zip(&self.conditions);
        all.filter_map(|(id, is)| Some((id, (*is)?)))
    }

    fn control(&self, id: ControlId) -> Option<ControlId> {
        self.controls.get(usize::from(id.0)).map(|(is, _)| *is)
    }

    /// Where a mode stands.
    pub(super) fn mode_id(&self, id: ModeId) -> Option<ModeId> {
        self.modes.get(usize::from(id.0)).copied().flatten()
    }

    fn rate(&self, rate: &Rate) -> Option<Rate> {
        Some(Rate { when: self.when(rate.when.as_ref())?, ..rate.clone() })
    }

    /// A control whose rates read as in both together.
    pub(super) fn whole_control(&self, control: &Control) -> Option<Control> {
        let mut whole = control.clone();
        if let ControlKind::Stick { rates, .. } = &mut whole.kind {
            *rates = rates.iter().map(|rate| self.rate(rate)).collect::<Option<_>>()?;
        }
        Some(whole)
    }

    fn when(&self, when: Option<&Condition>) -> Option<Option<Condition>> {
        match when {
            None => Some(None),
            Some(when) => self.condition_of(when).map(Some),
        }
    }

    pub(super) fn named(&self, named: &Named) -> Option<Named> {
        let kind = match &named.kind {
            NamedKind::Plain(of) => NamedKind::Plain(self.condition_of(of)?),
            NamedKind::Latch { set, reset } => {
                NamedKind::Latch { set: self.condition_of(set)?, reset: self.condition_of(reset)? }
            }
            NamedKind::Toggle(of) => NamedKind::Toggle(self.condition_of(of)?),
        };
        Some(Named { kind, name: named.name.clone() })
    }

    /// A channel with its lines as they read in both together; its number stays.
    pub(super) fn whole_channel(&self, channel: &Channel) -> Option<Channel> {
        let line = |line: &Line| Some(Line { value: self.value(&line.value)?, when: self.when(line.when.as_ref())? });
        let carriage = match channel.carriage {
            Carriage::Unknown(id) => Carriage::Unknown(self.unknown(id)?),
            other => other,
        };
        let centre = match channel.centre {
            None => None,
            Some(centre) => Some(self.pulse(centre)?),
        };
        let lines = channel.lines.iter().map(line).collect::<Option<_>>()?;
        Some(Channel { lines, carriage, centre, ..channel.clone() })
    }

    /// What turns a mode on, in the pulses of both together.
    fn any_of(
        &self,
        mode: &Mode,
        channel: &dyn Fn(u16) -> Option<u16>,
    ) -> Option<Vec<Vec<(u16, Rational64, Rational64)>>> {
        let test = |&(number, low, high): &(u16, _, _)| Some((channel(number)?, self.pulse(low)?, self.pulse(high)?));
        mode.any_of.iter().map(|tests| tests.iter().map(test).collect()).collect()
    }

    pub(super) fn mode(&self, mode: &Mode) -> Option<Mode> {
        let any_of = self.any_of(mode, &|number| Some(self.looked_at(number)))?;
        let unknown = match mode.unknown {
            None => None,
            Some(id) => Some(self.unknown(id)?),
        };
        Some(Mode { name: CompactString::default(), any_of, unknown })
    }

    /// Where a channel stands that may be undefined: nothing else stands there then.
    fn looked_at(&self, number: u16) -> u16 {
        self.channel(number).unwrap_or(number + self.undefined)
    }

    pub(super) fn condition_of(&self, condition: &Condition) -> Option<Condition> {
        Some(match condition {
            Condition::Constant(holds) => Condition::Constant(*holds),
            Condition::At(id, position) => match self.position(*id, *position)? {
                Some((id, position)) => Condition::At(id, position),
                None => Condition::Constant(false),
            },
            Condition::Becomes(id, position) => match self.position(*id, *position)? {
                Some((id, position)) => Condition::Becomes(id, position),
                None => Condition::Constant(false),
            },
            Condition::Axis(id, bounds) => Condition::Axis(self.control(*id)?, *bounds),
            Condition::Channel(number, measure, bounds) => {
                Condition::Channel(self.channel(*number)?, *measure, self.measured(*measure, *bounds)?)
            }
            Condition::Mode(id, measure) => Condition::Mode(self.mode_id(*id)?, *measure),
            Condition::Named(id) => Condition::Named(self.condition(*id)?),
            Condition::Not(of) => self.condition_of(of)?.not(),
            Condition::All(of) => Condition::All(of.iter().map(|of| self.condition_of(of)).collect::<Option<_>>()?),
            Condition::Any(of) => Condition::Any(of.iter().map(|of| self.condition_of(of)).collect::<Option<_>>()?),
            Condition::Unknown(id) => Condition::Unknown(self.unknown(*id)?),
            Condition::Held(number, of) => {
                let held = Condition::Held(*self.held.get(number)?, Box::new(self.condition_of(of)?));
                let shorter = self.shorter.get(number).into_iter().flatten();
                shorter.fold(held, |held, shorter| held.and(shorter.clone()))
            }
        })
    }

    /// A control and its position among the joined ones; the position is nothing where the joined control has none like it.
    #[expect(clippy::option_option, reason = "no place yet is another thing than no position")]
    fn position(&self, id: ControlId, position: Position) -> Option<Option<(ControlId, Position)>> {
        let (is, positions) = self.controls.get(usize::from(id.0))?;
        Some(match (position, positions) {
            (Position::Index(at), Some(positions)) => {
                let there = positions.get(usize::from(at)).copied().flatten();
                there.map(|there| (*is, Position::Index(there)))
            }
            (position, _) => Some((*is, position)),
        })
    }

    fn value(&self, value: &Value) -> Option<Value> {
        let two = |one: &Value, other: &Value| Some((Box::new(self.value(one)?), Box::new(self.value(other)?)));
        Some(match value {
            Value::Percent(percent) => Value::Percent(*percent),
            Value::Unknown(id) => Value::Unknown(self.unknown(*id)?),
            Value::Control(id) => match self.shaped.get(id) {
                Some(number) => Value::Channel(*number),
                None if self.open.contains(id) => return None,
                None => {
                    let (is, positions) = self.controls.get(usize::from(id.0))?;
                    if positions.is_some() {
                        return None;
                    }
                    Value::Control(*is)
                }
            },
            Value::Unshaped(id) => Value::Unshaped(self.control(*id)?),
            Value::Channel(number) => Value::Channel(self.channel(*number)?),
            Value::Curve(id, of) => Value::Curve(self.curve(*id)?, Box::new(self.value(of)?)),
            Value::Min(one, other) => two(one, other).map(|(one, other)| Value::Min(one, other))?,
            Value::Max(one, other) => two(one, other).map(|(one, other)| Value::Max(one, other))?,
            Value::Add(one, other) => two(one, other).map(|(one, other)| Value::Add(one, other))?,
            Value::Subtract(one, other) => two(one, other).map(|(one, other)| Value::Subtract(one, other))?,
            Value::Multiply(one, other) => two(one, other).map(|(one, other)| Value::Multiply(one, other))?,
            Value::Negate(of) => Value::Negate(Box::new(self.value(of)?)),
        })
    }

    /// What gives the value of a control that the sides read differently.
    pub(super) fn shaped_lines(&self, id: ControlId, control: &Control) -> Option<Vec<Line>> {
        let (is, positions) = self.controls.get(usize::from(id.0))?;
        match (&control.kind, positions) {
            (ControlKind::Stick { trim, rates, .. }, _) => {
                let rates: Vec<Rate> = rates.iter().map(|rate| self.rate(rate)).collect::<Option<_>>()?;
                Some(shaped(*is, &rates, trim.is_some()))
            }
            (_, Some(positions)) => Some(stepped(*is, positions)),
            _ => None,
        }
    }

    /// A path of both together, as this side sees it.
    pub(super) fn path(&self, path: &Path, own: &Parts) -> Path {
        let setting = |id: ControlId, to: Setting| match (self.controls.get(usize::from(id.0)), to) {
            (Some((_, Some(positions))), Setting::Position(at)) => {
                let here = positions.iter().position(|is| *is == Some(at));
                Setting::Position(here.unwrap_or_default() as u8)
            }
            (_, to) => to,
        };
        let trims_of = |id: ControlId| match own.controls.get(usize::from(id.0)).map(|control| &control.kind) {
            Some(ControlKind::Stick { trim, .. }) => *trim,
            _ => None,
        };
        let ids = || (0..self.controls.len() as u16).map(ControlId);
        let start = Stand {
            controls: ids()
                .map(|id| {
                    let there = self.control(id).and_then(|is| path.start.controls.get(usize::from(is.0)).copied());
                    setting(id, there.unwrap_or(Setting::Position(0)))
                })
                .collect(),
            trims: ids()
                .map(|id| {
                    let there = self.control(id).and_then(|is| path.start.trims.get(usize::from(is.0)).copied());
                    there.filter(|_| trims_of(id).is_some()).unwrap_or(whole(0))
                })
                .collect(),
        };
        let find = |joint: ControlId| ids().find(|id| self.control(*id) == Some(joint));
        let movement = |movement: &Movement| {
            let sets = movement.sets.iter().filter_map(|(handle, to)| match handle {
                Handle::Control(joint) => find(*joint).map(|id| (Handle::Control(id), setting(id, *to))),
                Handle::Trim(joint) => {
                    find(*joint).filter(|id| trims_of(*id).is_some()).map(|id| (Handle::Trim(id), *to))
                }
            });
            Movement { sets: sets.collect(), held: self.held_here(movement.held) }
        };
        Path { start, held: self.held_here(path.held), movements: path.movements.iter().map(movement).collect() }
    }

    fn held_here(&self, joint: u64) -> u64 {
        let counts = |number: u8| joint >> number & 1 == 1;
        let shorter = |own: &u8| self.shorter.get(own).into_iter().flatten();
        let all = |own: &u8| shorter(own).all(|other| matches!(other, Condition::Held(number, _) if counts(*number)));
        let own = self.held.iter().filter(|(own, is)| counts(**is) && all(own));
        own.fold(0, |held, (own, _)| held | 1 << own)
    }
}

/// Gives a part its place, where it has none and there is one; whether it got it.
fn place<T: Copy>(places: &mut [Option<T>], at: usize, is: Option<T>) -> bool {
    match (places.get_mut(at), is) {
        (Some(place @ None), Some(is)) => {
            *place = Some(is);
            true
        }
        _ => false,
    }
}
