//! Two programs as one, over the same controls: what they have in common stands in it once, so that only what differs is
//! ever asked about.
//!
//! Controls are matched by their names; those that only one side has by their kind, in their order, as where a switch was given
//! another name. A part of the old program is *shared* where it is the same as one of the new once all that it is made of is.

use super::side::{Shared, Side};
use crate::fleet::Decimal;
use crate::signal::{
    Bounds, Channel, Condition, ConditionId, Control, ControlId, ControlKind, CurveId, Handle, Kept, Line, Measure,
    ModeId, Parts, Position, Program, Question, Rate, Rational64, UnknownId, Value, exact, whole,
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
    joined.program = joined.together(old.program, new.program, &shared).and_then(|parts| {
        Program::new(parts).map_err(|flaw| format!("the two together are too much to ask about: {}", flaw.reason))
    });
    joined
}

/// The new controls that the old ones are.
fn matched(old: &[Control], new: &[Control]) -> Vec<Option<usize>> {
    let same = |one: &ControlKind, other: &ControlKind| match (one, other) {
        (ControlKind::Stick { function: a, .. }, ControlKind::Stick { function: b, .. }) => a == b,
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
        // Where no position has the name that one had, they are what they are by their order.
        let by_name = old.iter().any(|name| new.contains(name));
        let there: Vec<Option<u8>> = (0..)
            .zip(old.iter())
            .map(|(at, name)| match by_name {
                true => new.iter().position(|other| other == name).map(|at| at as u8),
                false => (usize::from(at) < new.len()).then_some(at),
            })
            .collect();
        for at in (0..new.len() as u8).filter(|at| !there.contains(&Some(*at))) {
            self.added.push((id, at));
            self.given.push(Condition::At(id, Position::Index(at)).not());
        }
        Some(there)
    }
}

impl Joined {
    /// The parts of both.
    fn together(&mut self, old: &Program, new: &Program, shared: &Shared<'_>) -> Result<Parts, String> {
        let (o, n) = (old.parts(), new.parts());
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
        let mut differences = Vec::new();
        for channel in
            o.channels.iter().filter(|channel| !channel.is_mix() && !self.same_channels.contains(&channel.number))
        {
            let Some(other) = n.channels.iter().find(|other| other.number == channel.number) else { continue };
            let was = Sent { own: channel, lines: self.old.whole_channel(channel).ok_or(lost)?.lines, program: old };
            let is = Sent { own: other, lines: self.new.whole_channel(other).ok_or(lost)?.lines, program: new };
            let lines = difference(was, is, &parts.channels);
            differences.push(Channel::of(apart(channel.number), lines));
        }
        parts.channels.extend(differences);
        Ok(parts)
    }

    /// Whether an old mix stands in the new program under another number.
    fn is_shared_mix(&self, o: &Parts, n: &Parts, channel: &Channel, number: u16) -> bool {
        debug_assert!(o.channels.iter().any(|known| known.number == channel.number));
        channel.is_mix() && n.channels.iter().any(|known| known.number == number)
    }
}

/// What one side sends on a channel.
struct Sent<'p> {
    /// The channel as it stands there.
    own: &'p Channel,
    /// Its lines as they read in both together.
    lines: Vec<Line>,
    program: &'p Program,
}

/// More pairs of lines than this are not told apart one by one.
const MOST_LINES: usize = 100;

/// The new pulse of a channel less the old one, line by line: where both sides give the same value by the same way out nothing is
/// left to compute. The channels of both together give what the lines name.
fn difference(old: Sent<'_>, new: Sent<'_>, channels: &[Channel]) -> Vec<Line> {
    let way_out = |sent: &Sent<'_>| {
        let Channel { reversed, subtrim, ends, travel, centre, .. } = *sent.own;
        (reversed, subtrim, ends, travel, centre, sent.program.parts().scale)
    };
    let is_same_way = way_out(&old) == way_out(&new);
    let clips = (!is_same_way).then(|| (clips(&old), clips(&new)));
    let (clips_old, clips_new) = clips.unwrap_or((true, true));
    let (was, now) = (unfolded(&old.lines, channels), unfolded(&new.lines, channels));
    // The first pair of which both hold is the line in force on each side.
    let mut lines = Vec::new();
    for before in &was {
        for after in &now {
            let value = match is_same_way && before.value == after.value {
                true => Value::percent(0),
                false => {
                    pulse(&new, after.value.clone(), clips_new).minus(pulse(&old, before.value.clone(), clips_old))
                }
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

/// Lines that name no other channel, as far as there are not too many then: each that names one stands once for each line of that
/// one. The last always holds.
fn unfolded(lines: &[Line], channels: &[Channel]) -> Vec<Line> {
    // No line in force is 0 %.
    let whole = |lines: &[Line]| {
        let mut whole = lines.to_vec();
        if lines.last().is_none_or(|line| line.when.is_some()) {
            whole.push(Line::always(Value::percent(0)));
        }
        whole
    };
    let mut all = whole(lines);
    let most = MOST_LINES.isqrt();
    loop {
        let names = all.iter().enumerate().find_map(|(at, line)| Some((at, named(&line.value)?)));
        let Some((at, number)) = names else { return all };
        let Some(channel) = channels.iter().find(|channel| channel.number == number) else { return all };
        let inner = whole(&channel.lines);
        if all.len() + inner.len() > most {
            return all;
        }
        let line = all.remove(at);
        let each = inner.into_iter().map(|inner| {
            let when: Vec<Condition> = line.when.iter().chain(&inner.when).cloned().collect();
            let value = with(&line.value, number, &inner.value);
            Line { value, when: (!when.is_empty()).then_some(Condition::All(when)) }
        });
        let each: Vec<Line> = each.collect();
        all.splice(at..at, each);
    }
}

/// The first channel that a value names.
fn named(value: &Value) -> Option<u16> {
    match value {
        Value::Channel(number) => Some(*number),
        Value::Percent(_) | Value::Unknown(_) | Value::Control(_) | Value::Unshaped(_) => None,
        Value::Curve(_, of) | Value::Negate(of) => named(of),
        Value::Min(a, b) | Value::Max(a, b) | Value::Add(a, b) | Value::Subtract(a, b) | Value::Multiply(a, b) => {
            named(a).or_else(|| named(b))
        }
    }
}

/// A value with another one in place of a channel.
fn with(value: &Value, number: u16, other: &Value) -> Value {
    let one = |of: &Value| Box::new(with(of, number, other));
    match value {
        Value::Channel(known) if *known == number => other.clone(),
        Value::Percent(_) | Value::Unknown(_) | Value::Control(_) | Value::Unshaped(_) | Value::Channel(_) => {
            value.clone()
        }
        Value::Curve(id, of) => Value::Curve(*id, one(of)),
        Value::Negate(of) => Value::Negate(one(of)),
        Value::Min(a, b) => Value::Min(one(a), one(b)),
        Value::Max(a, b) => Value::Max(one(a), one(b)),
        Value::Add(a, b) => Value::Add(one(a), one(b)),
        Value::Subtract(a, b) => Value::Subtract(one(a), one(b)),
        Value::Multiply(a, b) => Value::Multiply(one(a), one(b)),
    }
}

/// Whether a channel's travel may cut its value short.
fn clips(sent: &Sent<'_>) -> bool {
    let Channel { number, reversed, subtrim, ends, travel, .. } = *sent.own;
    if ends.0 != ends.1.negate() || ends.1.is_zero() {
        return true;
    }
    // The value before output that comes to an end of the travel.
    let before = |end: Rational64| {
        let exactly = exact(end).times(&exact(whole(100))).over(&exact(ends.1)).minus(&exact(subtrim));
        let near = exactly.rounded();
        (exact(near) == exactly).then_some(if reversed { near.negate() } else { near })
    };
    let (Some(one), Some(other)) = (before(travel.0), before(travel.1)) else { return true };
    let (low, high) = if reversed { (other, one) } else { (one, other) };
    [Bounds::below(low), Bounds::above(high)].into_iter().any(|beyond| {
        let question = Question::is(Condition::Channel(number, Measure::Percent, beyond));
        sent.program.decide(&question) != Ok(false)
    })
}

/// The pulse in us that a channel's output makes of a value, as a value; `clips` where its travel may cut it short.
fn pulse(sent: &Sent<'_>, value: Value, clips: bool) -> Value {
    let (channel, scale) = (sent.own, sent.program.parts().scale);
    let percent = Value::Percent;
    let mut value = value;
    if channel.reversed {
        value = Value::Negate(Box::new(value));
    }
    if !channel.subtrim.is_zero() {
        value = value.plus(percent(channel.subtrim));
    }
    if channel.ends.0 == channel.ends.1.negate() {
        value = value.times(percent(channel.ends.1));
    } else {
        let nothing = || Box::new(percent(whole(0)));
        let below = Value::Min(Box::new(value.clone()), nothing()).times(percent(channel.ends.0.negate()));
        value = below.plus(Value::Max(Box::new(value), nothing()).times(percent(channel.ends.1)));
    }
    if clips {
        let (low, high) = channel.travel;
        value = Value::Max(Box::new(percent(low)), Box::new(Value::Min(Box::new(percent(high)), Box::new(value))));
    }
    percent(channel.centre.unwrap_or(scale.centre)).plus(value.times(percent(scale.span)))
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
