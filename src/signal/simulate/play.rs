//! The signal path of one state and of a path of movements, in exact arithmetic, straight from the parts.
//!
//! It shares nothing with the query but the curves: every witness is replayed here, so the one checks the other.

use crate::signal::number::rational::{Exact, Rational};
use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::compiled::{Compiled, switch_value};
use crate::signal::program::parts::*;
use crate::signal::program::state::{ChannelReading, Handle, Path, Reading, Setting, Stand};
use crate::signal::simulate::partial_bits::PartialBits;
use std::borrow::Cow;

impl Compiled {
    /// What can be read at the end of a path.
    pub fn play(&self, path: &Path) -> Reading {
        self.follow(path, |_| {}).finish()
    }

    /// What can be read on one channel at the end of a path; `None` where the model does not define it, and where
    /// it is not known.
    pub fn read(&self, path: &Path, channel: u16) -> Option<ChannelReading> {
        let index = self.channel_index(channel)?;
        self.follow(path, |_| {}).alone(index)
    }

    /// What can be read on one channel when the handset is turned on with everything at rest but for these; `None` where the
    /// model does not define it, and where it is not known.
    pub fn read_with(&self, sets: &[(Handle, Setting)], channel: u16) -> Option<ChannelReading> {
        let index = self.channel_index(channel)?;
        Moment { sets, ..Moment::new(self, Cow::Borrowed(&self.rest), 0, None) }.alone(index)
    }

    /// The end of a path, from which many next movements can be looked at.
    pub fn end_of(&self, path: &Path) -> End<'_> {
        let mut last = self.follow(path, |_| {});
        End { program: self, latches: last.latches(), stand: last.stand.into_owned() }
    }

    /// What can be read at the start and after each movement of a path.
    pub fn play_all(&self, path: &Path) -> Vec<Reading> {
        let mut readings = Vec::with_capacity(path.movements.len() + 1);
        let last = self.follow(path, |moment| readings.push(moment.finish())).finish();
        readings.push(last);
        readings
    }

    /// Whether a condition holds at the end of a path; `None` where it hangs on a pulse that is not known.
    pub fn holds(&self, path: &Path, condition: &Condition) -> Option<bool> {
        self.follow(path, |_| {}).condition(condition)
    }

    /// The conditions that remember what was before.
    fn latches(&self) -> impl Iterator<Item = ConditionId> {
        let conditions = (0..).map(ConditionId).zip(&self.parts.conditions);
        let latches =
            conditions.filter(|(_, known)| matches!(known.kind, NamedKind::Latch { .. } | NamedKind::Toggle(_)));
        latches.map(|(id, _)| id)
    }

    /// What arrives of a pulse sent on the channel with this index.
    pub(in crate::signal) fn arrives(&self, index: usize, sent: &Rational) -> Option<Rational> {
        match self.parts.channels[index].carriage {
            Carriage::Not | Carriage::Unknown(_) => None,
            Carriage::Unchanged => Some(sent.clone()),
            Carriage::Levels(_) => self.outputs[index].levels.as_ref().map(|levels| levels.nearest(sent)),
        }
    }

    /// The moment after the last movement of a path; shows every moment before it.
    fn follow<'a>(&'a self, path: &'a Path, mut before: impl FnMut(&mut Moment<'_>)) -> Moment<'a> {
        let mut moment = Moment::new(self, Cow::Borrowed(&path.start), path.held, None);
        for movement in &path.movements {
            before(&mut moment);
            let mut stand = moment.stand.clone().into_owned();
            stand.apply(movement);
            let last = Before { latches: moment.latches(), stand: moment.stand };
            moment = Moment::new(self, Cow::Owned(stand), movement.held, Some(last));
        }
        moment
    }
}

/// The end of a path. What lies before is worked out once, for all movements that may follow.
pub struct End<'a> {
    program: &'a Compiled,
    stand: Stand,
    latches: PartialBits,
}

impl End<'_> {
    /// Where a handle stands; `None` for a control that is not there.
    pub fn stands_at(&self, handle: Handle) -> Option<Setting> {
        self.stand.get(handle)
    }

    /// Whether a latch is on; `None` where that is not known.
    pub(in crate::signal) fn latch(&self, id: ConditionId) -> Option<bool> {
        self.latches.get(usize::from(id.0))
    }

    /// What can be read on one channel after one more movement, of nothing where `sets` is empty; `None` where the model does not
    /// define it, and where it is not known.
    pub fn read_moved(&self, sets: &[(Handle, Setting)], channel: u16) -> Option<ChannelReading> {
        let index = self.program.channel_index(channel)?;
        let last = Before { stand: Cow::Borrowed(&self.stand), latches: self.latches.clone() };
        Moment { sets, ..Moment::new(self.program, Cow::Borrowed(&self.stand), 0, Some(last)) }.alone(index)
    }

    /// What can be read on one channel with a control moved to each of the places that lie `step` percent apart, from one end to
    /// the other; without those where it is not known.
    pub fn swept(&self, control: ControlId, step: usize, channel: u16) -> impl Iterator<Item = (i64, ChannelReading)> {
        (-100..=100).step_by(step).filter_map(move |percent| {
            let set = (Handle::Control(control), Setting::Percent(whole(percent)));
            Some((percent, self.read_moved(&[set], channel)?))
        })
    }

    /// Where everything stands.
    pub(in crate::signal) const fn stand(&self) -> &Stand {
        &self.stand
    }

    /// Each latch, and whether it is on; `None` where that is not known.
    pub(in crate::signal) fn latches(&self) -> impl Iterator<Item = (ConditionId, Option<bool>)> {
        self.program.latches().map(|id| (id, self.latches.get(usize::from(id.0))))
    }
}

/// What one evaluation needs to remember of the one before.
struct Before<'a> {
    stand: Cow<'a, Stand>,
    /// By condition; nothing where it is no latch, or is not known.
    latches: PartialBits,
}

/// One evaluation: where everything stands, and what was found so far. What is remembered has room only from when it is
/// needed: most channels look at no other.
struct Moment<'a> {
    program: &'a Compiled,
    stand: Cow<'a, Stand>,
    /// What stands elsewhere than `stand` says; of one control the last counts.
    sets: &'a [(Handle, Setting)],
    held: u64,
    before: Option<Before<'a>>,
    named: PartialBits,
    /// The value line in force and the value before output, by channel.
    values: Vec<Option<(Option<usize>, Rational)>>,
    /// The pulse sent and the pulse received, by channel.
    pulses: Vec<Option<(Rational, Option<Rational>)>>,
}

impl<'a> Moment<'a> {
    const fn new(program: &'a Compiled, stand: Cow<'a, Stand>, held: u64, before: Option<Before<'a>>) -> Self {
        Self {
            program,
            stand,
            sets: &[],
            held,
            before,
            named: PartialBits::NONE,
            values: Vec::new(),
            pulses: Vec::new(),
        }
    }

    /// Where a control stands.
    fn at(&self, id: ControlId) -> Setting {
        control(&self.stand, self.sets, id)
    }

    /// Where the trim of a stick stands.
    fn trim(&self, id: ControlId) -> Rational64 {
        match self.sets.iter().rev().find(|(handle, _)| *handle == Handle::Trim(id)) {
            Some(&(_, Setting::Percent(at))) => at,
            _ => self.stand.trims[usize::from(id.0)],
        }
    }

    fn latches(&mut self) -> PartialBits {
        let mut latches = PartialBits::NONE;
        for id in self.program.latches() {
            if let Some(on) = self.named(id) {
                latches.set(usize::from(id.0), on);
            }
        }
        latches
    }

    fn finish(&mut self) -> Reading {
        let parts = &self.program.parts;
        let carried = (0..parts.channels.len()).filter(|&i| !parts.channels[i].is_mix());
        let channels = carried.filter_map(|i| self.channel(i)).collect();
        let mixes = (0..parts.channels.len()).filter(|&i| parts.channels[i].is_mix());
        let mixes = mixes.map(|i| self.line(i).map(|(_, percent)| Exact(percent))).collect();
        let conditions = (0..).map(ConditionId).zip(&parts.conditions).map(|(id, _)| self.named(id)).collect();
        let modes = (0..).map(ModeId).zip(&parts.modes).map(|(id, _)| self.mode(id, Measure::Received)).collect();
        Reading { channels, mixes, conditions, modes, stand: self.stand.clone().into_owned() }
    }

    /// A channel of which nothing else is asked.
    fn alone(&mut self, index: usize) -> Option<ChannelReading> {
        let number = self.program.parts.channels[index].number;
        let (line, percent) = self.work_out(index)?;
        let sent = self.program.outputs[index].sent(&percent);
        let received = self.program.arrives(index, &sent).map(Exact);
        Some(ChannelReading { number, percent: Exact(percent), sent: Exact(sent), received, line })
    }

    /// What is read on a channel; `None` where it is not known.
    fn channel(&mut self, index: usize) -> Option<ChannelReading> {
        let number = self.program.parts.channels[index].number;
        let (line, percent) = self.line(index)?;
        let (sent, received) = self.pulses(index)?;
        Some(ChannelReading { number, percent: Exact(percent), sent: Exact(sent), received: received.map(Exact), line })
    }

    fn condition(&mut self, condition: &Condition) -> Option<bool> {
        match condition {
            Condition::Constant(constant) => Some(*constant),
            Condition::Unknown(_) => None,
            Condition::At(id, at) => Some(stands(self.at(*id), *at)),
            Condition::Becomes(id, at) => {
                let was = |before: &Before<'_>| stands(control(&before.stand, &[], *id), *at);
                Some(stands(self.at(*id), *at) && self.before.as_ref().is_some_and(|before| !was(before)))
            }
            Condition::Axis(id, bounds) => Some(within(&self.raw(*id), bounds)),
            Condition::Channel(number, measure, bounds) => {
                self.measure(*number, *measure).map(|value| within(&value, bounds))
            }
            Condition::Mode(id, measure) => self.mode(*id, *measure),
            Condition::Named(id) => self.named(*id),
            Condition::Not(of) => self.condition(of).map(|c| !c),
            Condition::All(of) => self.every(of, true),
            Condition::Any(of) => self.every(of, false),
            Condition::Held(number, of) => match self.condition(of) {
                Some(true) => Some(self.held >> number & 1 == 1),
                other => other,
            },
        }
    }

    /// `neutral` unless one of `of` is its contrary; not known where that hangs on one that is not known.
    fn every(&mut self, of: &[Condition], neutral: bool) -> Option<bool> {
        let mut all = Some(neutral);
        for condition in of {
            match self.condition(condition) {
                Some(found) if found != neutral => return Some(!neutral),
                Some(_) => {}
                None => all = None,
            }
        }
        all
    }

    fn mode(&mut self, id: ModeId, measure: Measure) -> Option<bool> {
        let mode = &self.program.parts.modes[usize::from(id.0)];
        if mode.unknown.is_some() {
            return None;
        }
        let mut on = Some(false);
        for ranges in &mode.any_of {
            match self.all_within(ranges, measure) {
                Some(true) => return Some(true),
                Some(false) => {}
                None => on = None,
            }
        }
        on
    }

    fn all_within(&mut self, ranges: &[(u16, Rational64, Rational64)], measure: Measure) -> Option<bool> {
        let mut all = Some(true);
        for &(number, low, high) in ranges {
            match self.measure(number, measure).map(|pulse| within(&pulse, &Bounds::between(low, high))) {
                Some(true) => {}
                Some(false) => return Some(false),
                None => all = None,
            }
        }
        all
    }

    /// A named condition of the model; `None` where it is not known.
    fn named(&mut self, id: ConditionId) -> Option<bool> {
        let index = usize::from(id.0);
        if let Some(known) = self.named.get(index) {
            return Some(known);
        }
        let found = match &self.program.parts.conditions[index].kind {
            NamedKind::Plain(condition) => self.condition(condition),
            NamedKind::Toggle(on) => {
                let was = self.before.as_ref().map_or(Some(false), |before| before.latches.get(index));
                self.condition(on).zip(was).map(|(on, was)| on != was)
            }
            NamedKind::Latch { set, reset } => {
                let was = self.before.as_ref().map_or(Some(false), |b| b.latches.get(index));
                match (self.condition(reset), self.condition(set)) {
                    (Some(true), _) => Some(false),
                    (off, Some(true)) => off.map(|off| !off),
                    (off, on) => match (off, on, was) {
                        (_, Some(false), Some(false)) => Some(false),
                        (Some(false), _, Some(true)) => Some(true),
                        _ => None,
                    },
                }
            }
        };
        if let Some(found) = found {
            self.named.set(index, found);
        }
        found
    }

    fn measure(&mut self, number: u16, measure: Measure) -> Option<Rational> {
        let index = self.program.parts.channels.iter().position(|c| c.number == number)?;
        match measure {
            Measure::Percent => Some(self.line(index)?.1),
            Measure::Sent => Some(self.pulses(index)?.0),
            Measure::Received => self.pulses(index)?.1,
        }
    }

    /// The value line in force and the value before output, worked out once; `None` where they are not known.
    fn line(&mut self, index: usize) -> Option<(Option<usize>, Rational)> {
        if let Some(Some(known)) = self.values.get(index) {
            return Some(known.clone());
        }
        let found = self.work_out(index)?;
        room(&mut self.values, self.program.parts.channels.len())[index] = Some(found.clone());
        Some(found)
    }

    /// The same, worked out anew.
    fn work_out(&mut self, index: usize) -> Option<(Option<usize>, Rational)> {
        for (at, line) in self.program.parts.channels[index].lines.iter().enumerate() {
            let holds = line.when.as_ref().map_or(Some(true), |when| self.condition(when))?;
            if holds {
                return Some((Some(at), self.value(&line.value)?));
            }
        }
        Some((None, Rational::ZERO))
    }

    /// The pulse sent, and the pulse received where that is known; `None` where neither is.
    fn pulses(&mut self, index: usize) -> Option<(Rational, Option<Rational>)> {
        if let Some(Some(known)) = self.pulses.get(index) {
            return Some(known.clone());
        }
        let sent = self.program.outputs[index].sent(&self.line(index)?.1);
        let received = self.program.arrives(index, &sent);
        let pulses = (sent, received);
        room(&mut self.pulses, self.program.parts.channels.len())[index] = Some(pulses.clone());
        Some(pulses)
    }

    fn value(&mut self, value: &Value) -> Option<Rational> {
        Some(match value {
            Value::Percent(number) => Rational::of(*number),
            Value::Unknown(_) => return None,
            Value::Control(id) => self.shaped(*id)?,
            Value::Unshaped(id) => self.raw(*id),
            Value::Channel(number) => self.measure(*number, Measure::Percent)?,
            Value::Curve(id, of) => {
                let x = self.value(of)?;
                self.program.shapes[usize::from(id.0)].at(&x)
            }
            Value::Min(a, b) => self.value(a)?.min(self.value(b)?),
            Value::Max(a, b) => self.value(a)?.max(self.value(b)?),
            Value::Add(a, b) => self.value(a)?.add(&self.value(b)?),
            Value::Subtract(a, b) => self.value(a)?.sub(&self.value(b)?),
            Value::Multiply(a, b) => self.value(a)?.of_percents(&self.value(b)?),
            Value::Negate(of) => self.value(of)?.negate(),
        })
    }

    /// A control's value before rates and trim, in percent.
    fn raw(&self, id: ControlId) -> Rational {
        match self.at(id) {
            Setting::Percent(at) => Rational::of(at),
            Setting::Position(at) => {
                let n = positions(&self.program.parts.controls[usize::from(id.0)].kind).unwrap_or(2);
                Rational::of(switch_value(at, n))
            }
        }
    }

    /// A control's value as channels see it: a stick after rates, with its trim.
    fn shaped(&mut self, id: ControlId) -> Option<Rational> {
        let x = self.raw(id);
        let ControlKind::Stick { trim, rates, .. } = &self.program.parts.controls[usize::from(id.0)].kind else {
            return Some(x);
        };
        let mut chosen = None;
        for rate in rates {
            if rate.when.as_ref().map_or(Some(true), |when| self.condition(when))? {
                chosen = Some(rate);
                break;
            }
        }
        let shaped = match chosen {
            Some(rate) => expo(&x, &Rational::of(rate.rate), &Rational::of(rate.expo)),
            None => x,
        };
        Some(if trim.is_some() { shaped.add(&Rational::of(self.trim(id))) } else { shaped })
    }
}

/// Where a control stands: as the last of `sets` says, else as `stand` does.
fn control(stand: &Stand, sets: &[(Handle, Setting)], id: ControlId) -> Setting {
    let own = sets.iter().rev().find(|(handle, _)| *handle == Handle::Control(id));
    own.map_or_else(|| stand.controls[usize::from(id.0)], |&(_, at)| at)
}

/// What is remembered by number, with room for all of them.
fn room<T: Clone>(list: &mut Vec<Option<T>>, count: usize) -> &mut [Option<T>] {
    if list.is_empty() {
        list.resize(count, None);
    }
    list
}

/// y = r · (k·x³ + (1−k)·x), everything in percent (DESIGN 4.2; common practice, no source).
fn expo(x: &Rational, rate: &Rational, expo: &Rational) -> Rational {
    if let (Rational::Small(x), Rational::Small(rate), Rational::Small(k)) = (x, rate, expo) {
        // At the ends and the centre, where rules look most, the expo changes nothing.
        if x.is_zero() {
            return Rational::ZERO;
        }
        if *x == Rational64::HUNDRED {
            return Rational::Small(*rate);
        }
        if *x == Rational64::HUNDRED.negate() {
            return Rational::Small(rate.negate());
        }
        if let Some(shaped) = x.shaped(*rate, *k) {
            return Rational::Small(shaped);
        }
    }
    let (x, k) = (x.div(&Rational::HUNDRED), expo.div(&Rational::HUNDRED));
    let cube = k.mul(&x).mul(&x).mul(&x);
    rate.mul(&cube.add(&Rational::ONE.sub(&k).mul(&x)))
}

/// Whether a control that is there stands in a position.
fn stands(there: Setting, at: Position) -> bool {
    match (there, at) {
        (Setting::Position(now), Position::Index(at)) => now == at,
        (Setting::Percent(now), at) => at.range().is_some_and(|range| within(&Rational::of(now), &range)),
        (Setting::Position(_), _) => false,
    }
}

/// Whether a value lies in a range.
fn within(value: &Rational, bounds: &Bounds) -> bool {
    let over = |b: &Bound| if b.strict { *value > Rational::of(b.at) } else { *value >= Rational::of(b.at) };
    let under = |b: &Bound| if b.strict { *value < Rational::of(b.at) } else { *value <= Rational::of(b.at) };
    bounds.low.as_ref().is_none_or(over) && bounds.high.as_ref().is_none_or(under)
}
