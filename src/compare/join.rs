//! Two programs as one, over the same controls: what they have in common stands in it once, so that only what differs is
//! ever asked about.
//!
//! Controls are matched by their names; those that only one side has by their kind, in their order, as where a switch was given
//! another name. A part of the old program is *shared* where it is the same as one of the new once all that it is made of is.

use super::side::{Shared, Side};
use crate::fleet::Decimal;
use crate::signal::{
    Channel, Condition, ConditionId, Control, ControlId, ControlKind, CurveId, Handle, Kept, Line, ModeId, Parts,
    Position, Program, Rate, UnknownId, Value, whole,
};
use rustc_hash::FxHashMap;

/// Two programs as one.
pub(super) struct Joined {
    /// Both together; where that can't be, why.
    pub(super) program: Result<Program, String>,
    pub(super) old: Side,
    pub(super) new: Side,
    /// The controls of both.
    pub(super) controls: Vec<Control>,
    /// What holds wherever the sides can be compared.
    pub(super) given: Condition,
    /// Trims kept to what both sides have.
    pub(super) fixed: Vec<(Handle, Kept)>,
    /// Positions that controls have on the new side alone.
    pub(super) added: Vec<(ControlId, u8)>,
    /// The old channels that give the same pulses now.
    pub(super) same_channels: Vec<u16>,
    /// The old conditions that are the same now, each with the new one.
    pub(super) same_conditions: Vec<(ConditionId, ConditionId)>,
}

/// Channels of the old side that are not shared stand so far above their numbers, its mixes so far above theirs.
const OLD_CHANNELS: u16 = 300;
/// Channels that the old side looks at and does not define stand so far above their numbers.
pub(super) const OLD_UNDEFINED: u16 = 600;
const OLD_MIXES: u16 = 10_000;
/// Where the channels stand that give the shaped values of controls that the sides shape differently.
const OLD_SHAPED: u16 = 20_000;
const NEW_SHAPED: u16 = 30_000;
/// Where the values stand that tell the pulses of a channel apart.
const APART: u16 = 40_000;

/// The number of the value that tells the pulses of a channel apart: the new one less the old one.
pub(super) const fn apart(channel: u16) -> u16 {
    APART + channel
}

/// A program, and how long each of its `held` conditions has to hold.
#[derive(Clone, Copy)]
pub(super) struct Timed<'p> {
    pub(super) program: &'p Program,
    pub(super) held_for: &'p dyn Fn(u8) -> Option<Decimal>,
}

/// The number of a channel on its own side.
pub(super) const fn own_number(number: u16) -> u16 {
    if number > OLD_UNDEFINED {
        number - OLD_UNDEFINED
    } else if number > OLD_CHANNELS {
        number - OLD_CHANNELS
    } else {
        number
    }
}

/// Puts two programs together. Pulses are those of the new one's scale.
pub(super) fn join(old: Timed<'_>, new: Timed<'_>) -> Joined {
    let (o, n) = (old.program.parts(), new.program.parts());
    let matched = matched(&o.controls, &n.controls);
    let (mut controls, mut joiner) = (n.controls.clone(), Joiner::default());
    let mut of_old = Vec::new();
    for (control, is) in o.controls.iter().zip(&matched) {
        of_old.push(match is.and_then(|at| Some((at, n.controls.get(at)?))) {
            Some((at, other)) => (ControlId(at as u16), joiner.positions(control, other, ControlId(at as u16))),
            None => {
                controls.push(control.clone());
                (ControlId(controls.len() as u16 - 1), None)
            }
        });
    }
    let new_side = Side::identity(n, new.held_for);
    let mut side = Side::new(of_old, o, n.scale, old.held_for);
    let mut shared = Shared { old: o, new: n, held: new_side.held_there(n), alike: Vec::new() };
    while side.share(&mut shared) {}
    let is_same = |number: &u16| side.channel(*number) == Some(*number) && o.scale == n.scale;
    let same_channels = o.channels.iter().map(|channel| channel.number).filter(is_same).collect();
    let same_conditions = side.conditions().collect();
    let given = joiner.given.clone();
    let mut joined = Joined {
        program: Err(String::new()),
        old: side,
        new: new_side,
        controls,
        given: Condition::All(given),
        fixed: Vec::new(),
        added: joiner.added,
        same_channels,
        same_conditions,
    };
    joined.program = joined.together(o, n, &shared).and_then(|parts| {
        Program::new(parts).map_err(|flaw| format!("the two together are too much to ask about: {}", flaw.reason))
    });
    joined
}

/// The new controls that the old ones are.
fn matched(old: &[Control], new: &[Control]) -> Vec<Option<usize>> {
    let same = |one: &ControlKind, other: &ControlKind| match (one, other) {
        (ControlKind::Stick { function: a, .. }, ControlKind::Stick { function: b, .. }) => a == b,
        (ControlKind::Switch { positions: a, .. }, ControlKind::Switch { positions: b, .. }) => {
            a.iter().any(|name| b.contains(name))
        }
        (one, other) => std::mem::discriminant(one) == std::mem::discriminant(other),
    };
    let by_name =
        |control: &Control| new.iter().position(|it| it.name == control.name && same(&control.kind, &it.kind));
    let mut found: Vec<Option<usize>> = old.iter().map(by_name).collect();
    for (at, control) in old.iter().enumerate() {
        let is_gone = new.iter().all(|other| other.name != control.name);
        if !is_gone || matches!(control.kind, ControlKind::Stick { .. }) {
            continue;
        }
        let is = |&index: &usize| {
            new.get(index)
                .is_some_and(|other| other.kind == control.kind && old.iter().all(|known| known.name != other.name))
                && !found.contains(&Some(index))
        };
        let is = (0..new.len()).find(is);
        if let Some(place) = found.get_mut(at) {
            *place = is;
        }
    }
    found
}

#[derive(Default)]
struct Joiner {
    given: Vec<Condition>,
    added: Vec<(ControlId, u8)>,
}

impl Joiner {
    /// Where the positions of an old switch stand on the new one; nothing where they are the same.
    fn positions(&mut self, old: &Control, new: &Control, id: ControlId) -> Option<Vec<Option<u8>>> {
        let (ControlKind::Switch { positions: old, .. }, ControlKind::Switch { positions: new, .. }) =
            (&old.kind, &new.kind)
        else {
            return None;
        };
        if old == new {
            return None;
        }
        for (at, _) in (0..).zip(new.iter()).filter(|(_, name)| !old.contains(name)) {
            self.added.push((id, at));
            self.given.push(Condition::At(id, Position::Index(at)).not());
        }
        Some(old.iter().map(|name| new.iter().position(|other| other == name).map(|at| at as u8)).collect())
    }
}

impl Joined {
    /// The parts of both.
    fn together(&mut self, o: &Parts, n: &Parts, shared: &Shared<'_>) -> Result<Parts, String> {
        let mut parts = Parts { modes: Vec::new(), conditions: Vec::new(), channels: Vec::new(), ..n.clone() };
        parts.trims_unstated |= o.trims_unstated;
        self.old.number(o, n, OLD_CHANNELS, OLD_MIXES).ok_or("there are too many `held` conditions")?;
        let (held_before, held_now) = (self.old.held_there(o), self.new.held_there(n));
        self.old.order(o, &held_now);
        self.new.order(n, &held_before);
        let mut shapes: Vec<(bool, ControlId, u16)> = Vec::new();
        for (at, control) in (0..).map(ControlId).zip(&o.controls) {
            let Some((id, positions)) = self.old.controls.get(usize::from(at.0)).cloned() else { continue };
            let own = OLD_SHAPED + at.0;
            match &control.kind {
                ControlKind::Stick { trim, .. } if !shared.alike.contains(&at) => {
                    shapes.push((true, at, own));
                    self.old.shape(at, own);
                    let Some(control) = self.controls.get_mut(usize::from(id.0)) else { continue };
                    let ControlKind::Stick { trim: here, rates: of_new, .. } = &mut control.kind else { continue };
                    if usize::from(id.0) < n.controls.len() {
                        shapes.push((false, id, NEW_SHAPED + id.0));
                        self.new.shape(id, NEW_SHAPED + id.0);
                        if let (Some(a), Some(b)) = (*trim, *here)
                            && a != b
                        {
                            let least = if a.near() < b.near() { a } else { b };
                            self.fixed.push((Handle::Trim(id), Kept::Within(least.negate(), least)));
                        }
                    }
                    *here = match (*here, *trim) {
                        (Some(a), Some(b)) => Some(if a.near() < b.near() { b } else { a }),
                        (a, b) => a.or(b),
                    };
                    // Each side has its own shape; what is left is the raw stick and its trim.
                    of_new.clear();
                }
                ControlKind::Switch { .. } if positions.is_some() => {
                    shapes.push((true, at, own));
                    self.old.shape(at, own);
                }
                _ => {}
            }
        }
        parts.controls = self.controls.clone();
        let lost = "a number comes up that is too fine, or something refers to nothing";
        for (side, from) in [(&self.new, n), (&self.old, o)] {
            let is_old = std::ptr::eq(from, o);
            for (at, named) in (0..).map(ConditionId).zip(&from.conditions) {
                if !is_old || usize::from(side.condition(at).map_or(0, |id| id.0)) == parts.conditions.len() {
                    parts.conditions.push(side.named(named).ok_or(lost)?);
                }
            }
            for channel in &from.channels {
                let number = side.channel(channel.number).ok_or(lost)?;
                if !is_old || number != channel.number && !self.is_shared_mix(o, n, channel, number) {
                    parts.channels.push(Channel { number, ..side.whole_channel(channel).ok_or(lost)? });
                }
            }
            for (at, mode) in (0..).map(ModeId).zip(&from.modes) {
                if !is_old || usize::from(side.mode_id(at).map_or(0, |id| id.0)) == parts.modes.len() {
                    parts.modes.push(side.mode(mode).ok_or(lost)?);
                }
            }
            if is_old {
                for (at, curve) in (0..).map(CurveId).zip(&o.curves) {
                    if usize::from(side.curve(at).map_or(0, |id| id.0)) == parts.curves.len() {
                        parts.curves.push(curve.clone());
                    }
                }
                for (at, unknown) in (0..).map(UnknownId).zip(&o.unknown) {
                    if usize::from(side.unknown(at).map_or(0, |id| id.0)) == parts.unknown.len() {
                        parts.unknown.push(unknown.clone());
                    }
                }
                parts.elsewhere = parts.elsewhere.or(o.elsewhere.and_then(|id| side.unknown(id)));
            }
        }
        for (is_old, at, number) in shapes {
            let (side, from) = if is_old { (&self.old, o) } else { (&self.new, n) };
            let Some(control) = from.controls.get(usize::from(at.0)) else { continue };
            let lines = side.shaped_lines(at, control).ok_or(lost)?;
            parts.channels.push(Channel::of(number, lines));
        }
        for channel in
            o.channels.iter().filter(|channel| !channel.is_mix() && !self.same_channels.contains(&channel.number))
        {
            let Some(other) = n.channels.iter().find(|other| other.number == channel.number) else { continue };
            let lines = self.old.whole_channel(channel).ok_or(lost)?.lines;
            let now = self.new.whole_channel(other).ok_or(lost)?.lines;
            parts.channels.push(Channel::of(apart(channel.number), difference((channel, lines, o), (other, now, n))));
        }
        Ok(parts)
    }

    /// Whether an old mix stands in the new program under another number.
    fn is_shared_mix(&self, o: &Parts, n: &Parts, channel: &Channel, number: u16) -> bool {
        debug_assert!(o.channels.iter().any(|known| known.number == channel.number));
        channel.is_mix() && n.channels.iter().any(|known| known.number == number)
    }
}

/// More pairs of lines than this are not told apart one by one.
const MOST_LINES: usize = 64;

/// The new pulse of a channel less the old one, line by line: where both sides give the same value by the same way out nothing is
/// left to compute.
fn difference(
    (old, was, o): (&Channel, Vec<Line>, &Parts),
    (new, now, n): (&Channel, Vec<Line>, &Parts),
) -> Vec<Line> {
    let whole_lines = |mut lines: Vec<Line>| {
        lines.push(Line::always(Value::percent(0)));
        lines
    };
    let (was, now) = (whole_lines(was), whole_lines(now));
    let way_out = |channel: &Channel, parts: &Parts| {
        (channel.reversed, channel.subtrim, channel.ends, channel.travel, channel.centre, parts.scale)
    };
    let is_same_way = way_out(old, o) == way_out(new, n);
    if was.len() * now.len() > MOST_LINES {
        let of = |channel: u16, own: &Channel, parts: &Parts| pulse(own, Value::Channel(channel), parts);
        let of_old = if is_same_way && was == now { new.number } else { old.number + OLD_CHANNELS };
        return vec![Line::always(of(new.number, new, n).minus(of(of_old, old, o)))];
    }
    // The first pair of which both hold is the line in force on each side.
    let mut lines = Vec::new();
    for before in &was {
        for after in &now {
            let value = match is_same_way && before.value == after.value {
                true => Value::percent(0),
                false => pulse(new, after.value.clone(), n).minus(pulse(old, before.value.clone(), o)),
            };
            let when: Vec<Condition> = before.when.iter().chain(&after.when).cloned().collect();
            lines.push(Line { value, when: (!when.is_empty()).then_some(Condition::All(when)) });
            if after.when.is_none() {
                break;
            }
        }
        if before.when.is_none() {
            break;
        }
    }
    lines
}

/// The pulse in us that a channel's output makes of a value, as a value.
fn pulse(channel: &Channel, value: Value, parts: &Parts) -> Value {
    let percent = Value::Percent;
    let mut value = value;
    if channel.reversed {
        value = Value::Negate(Box::new(value));
    }
    if !channel.subtrim.is_zero() {
        value = value.plus(percent(channel.subtrim));
    }
    if channel.ends != (whole(-100), whole(100)) {
        let nothing = || Box::new(percent(whole(0)));
        let below = Value::Min(Box::new(value.clone()), nothing()).times(percent(channel.ends.0.negate()));
        value = below.plus(Value::Max(Box::new(value), nothing()).times(percent(channel.ends.1)));
    }
    let (low, high) = channel.travel;
    let value = Value::Max(Box::new(percent(low)), Box::new(Value::Min(Box::new(percent(high)), Box::new(value))));
    percent(channel.centre.unwrap_or(parts.scale.centre)).plus(value.times(percent(parts.scale.span)))
}

/// The lines that give y = rate · (expo · x³ + (1 − expo) · x) for a stick under each of its rates, with its trim.
pub(super) fn shaped(stick: ControlId, rates: &[Rate], has_trim: bool) -> Vec<Line> {
    let x = || Value::Unshaped(stick);
    let trimmed = |value: Value| match has_trim {
        // Without rates a stick is its raw position and its trim.
        true => value.plus(Value::Control(stick).minus(x())),
        false => value,
    };
    let mut lines: Vec<Line> = Vec::new();
    for rate in rates {
        let linear = Value::percent(100).minus(Value::Percent(rate.expo));
        let curved = match rate.expo.is_zero() {
            true => x(),
            false => x().times(x()).times(x()).times(Value::Percent(rate.expo)).plus(x().times(linear)),
        };
        lines.push(Line { value: trimmed(curved.times(Value::Percent(rate.rate))), when: rate.when.clone() });
    }
    if lines.last().is_none_or(|line| line.when.is_some()) {
        lines.push(Line::always(trimmed(x())));
    }
    lines
}

/// The value of a switch by its positions among the joined ones, as lines.
pub(super) fn stepped(switch: ControlId, positions: &[Option<u8>]) -> Vec<Line> {
    let last = positions.len().saturating_sub(1).max(1) as i64;
    let line = |(at, is): (i64, &Option<u8>)| {
        let value = crate::signal::Rational64::new(200 * at - 100 * last, last)?;
        Some(Line::when(Value::Percent(value), Condition::at(switch, (*is)?)))
    };
    (0..).zip(positions).filter_map(line).collect()
}

/// Nothing keeps these apart.
pub(super) type Numbers = FxHashMap<u16, u16>;
