//! How far a stick moves what arrives on its channel: whether it is centred, full, wide enough, or ends before the stick does.

use super::channel_use::{Flight, function, is_cut_short, sticks};
use super::ends::{Ends, Seen};
use super::rates::rate_beyond_full;
use super::signals::{Signals, above, at_least, at_most, below, float};
use super::subject::{Subject, around, number};
use super::terms::beyond_full;
use crate::fleet::Decimal;
use crate::fleet::model::Channel;
use crate::fleet::words::{CraftKind, Stick};
use crate::signal::{
    Bounds, ChannelReading, ControlId, End, Exact, Function, Handle, Kept, Path, Question, Range, Rational64, Setting,
    exact, whole,
};

/// What a flight controller takes for the centre of a function, in microseconds (common practice, no source).
pub const CENTRE_US: i64 = 1500;

/// The whole way of a function, in microseconds (common practice, no source).
const WHOLE_WAY_US: f64 = 1000.0;

/// How much more than enough, in microseconds, is enough in any rounding.
const WELL_US: f64 = 1.0;

/// The pulses that count as centred.
#[derive(Clone, Copy, Debug)]
pub struct Centre {
    low: Rational64,
    high: Rational64,
}

impl Centre {
    /// What a controller takes for centred that allows so many microseconds to either side.
    pub fn within(allowed: Decimal) -> Self {
        let [low, high] = around(Decimal::whole(CENTRE_US), allowed);
        Self { low, high }
    }

    /// Whether a pulse is one of them.
    pub fn holds(&self, pulse: &Exact) -> bool {
        exact(self.low) <= *pulse && *pulse <= exact(self.high)
    }

    /// The pulses on either side of them.
    pub fn off(&self) -> [Bounds; 2] {
        [below(self.low), above(self.high)]
    }
}

/// Whether a handset's scale has its centre where a flight controller has it.
pub fn is_scale_centred(subject: &Subject<'_>) -> bool {
    let scale = subject.handset.and_then(|handset| handset.scale.as_ref());
    scale.is_none_or(|scale| scale.value.0 == Decimal::whole(CENTRE_US))
}

/// A question with all sticks that spring to a centre kept there, and their trims centred.
pub fn centred(signals: &Signals, question: Question) -> Question {
    let sticks = [Function::Roll, Function::Pitch, Function::Yaw].into_iter().filter_map(|it| signals.stick(it));
    let at = Kept::At(Setting::Percent(whole(0)));
    sticks
        .fold(question, |question, stick| question.keeping(Handle::Control(stick), at).keeping(Handle::Trim(stick), at))
}

/// The pulses that count as full.
#[derive(Clone, Copy, Debug)]
pub struct Full {
    upper: Rational64,
    /// The mirror image of the upper one about the centre (common practice, no source).
    lower: Rational64,
}

impl Full {
    /// What a controller takes for full from so many microseconds on.
    pub fn from(upper: Decimal) -> Self {
        let [lower, _] = around(Decimal::whole(2 * CENTRE_US), upper);
        Self { upper: number(upper), lower }
    }

    /// The ends that a function has to reach: a throttle only its upper one.
    pub fn ends(&self, function: Stick) -> Vec<Bounds> {
        let mut ends = vec![at_least(self.upper)];
        if function != Stick::Throttle {
            ends.push(at_most(self.lower));
        }
        ends
    }

    /// Whether a function was seen to reach them.
    pub fn is_seen(&self, function: Stick, seen: &Seen) -> bool {
        seen.ends.iter().any(|ends| *ends.greatest() >= exact(self.upper))
            && (function == Stick::Throttle || seen.ends.iter().any(|ends| *ends.least() <= exact(self.lower)))
    }
}

/// The least part of its whole way that has to be left to a function.
#[derive(Clone, Copy, Debug)]
pub struct LeastWay {
    us: f64,
}

impl LeastWay {
    /// A share, in percent.
    pub fn share(share: Decimal) -> Self {
        Self { us: WHOLE_WAY_US * share.to_f64() / 100.0 }
    }

    /// Whether a range is shorter.
    pub fn is_missed_by(&self, range: &Range) -> bool {
        range.high - range.low < self.us
    }

    /// Whether every position of every switch that the channel names was seen to leave enough.
    pub fn is_seen(&self, signals: &Signals, seen: &Seen) -> bool {
        let leaves = |ends: &Ends| float(ends.greatest()) - float(ends.least()) > self.us + WELL_US;
        let wide = |control, position| seen.with(signals, control, position).is_some_and(leaves);
        let mut named = seen.mentions.controls.iter();
        named.all(|&control| (0..signals.positions(control)).all(|position| wide(control, position)))
    }
}

/// The end of a stick's way where its last part changes nothing.
#[derive(Clone, Debug)]
pub struct FlatEnd {
    /// The stick.
    pub stick: Stick,
    /// What arrives over the whole last part.
    pub pulse: Exact,
    /// The state with the stick at that end.
    pub path: Path,
}

impl FlatEnd {
    /// The first stick in a channel's values whose way has an end of so many percent that is flat though the rest is not, and not
    /// just because the link rounds; with everything at rest, or a switch elsewhere. Where
    /// a function is read from the channel, `flight` is it.
    pub fn of(
        subject: &Subject<'_>,
        signals: &Signals,
        channel: u8,
        flight: Option<&Flight<'_>>,
        share: Decimal,
    ) -> Option<Self> {
        let sticks = flight.map_or_else(|| sticks(subject.model, subject.handset, channel), |flight| flight.sticks);
        // A stick's whole way is 200 %: the last share of the half on one side.
        let [before, _] = around(Decimal::whole(100), share);
        let positions: Vec<Stood<'_>> =
            positions(signals, channel).into_iter().map(|at| Stood::at(signals, at, channel)).collect();
        let [rest, ..] = positions.as_slice() else { return None };
        sticks.iter().find_map(|&stick| {
            let control = signals.stick(function(stick))?;
            positions.iter().find_map(|stood| {
                // What a position adds to the middle of a channel leaves the stick less way on purpose: brakes that are out.
                if stood.at.is_some() && stood.received(control, whole(0)) != rest.received(control, whole(0)) {
                    return None;
                }
                // Of its own stick the ends at rest are known.
                let known = flight.filter(|flight| flight.function == stick && stood.at.is_none());
                let ends = match known.and_then(|flight| flight.seen(signals).ends.first()) {
                    Some(ends) => [(100, Some(ends.high.clone())), (-100, Some(ends.low.clone()))],
                    None => [100, -100].map(|end| (end, stood.received(control, whole(end)))),
                };
                ends.into_iter().find_map(|(end, pulse)| {
                    let pulse = pulse?;
                    let before = if end < 0 { before.negate() } else { before };
                    let before = stood.read(control, before)?;
                    let is_flat = before.received.as_ref() == Some(&pulse)
                        && stood.received(control, whole(0))? != pulse
                        && (is_beyond_scale(signals, &before.sent)
                            || stood.read(control, whole(end))?.sent == before.sent);
                    let set = (control, Setting::Percent(whole(end)));
                    let path = match &stood.at {
                        None => Path::at(signals.start(&[set])),
                        Some((switch, position)) => Path::at(signals.program().rest())
                            .then(*switch, Setting::Position(*position))
                            .then(set.0, set.1),
                    };
                    is_flat.then_some(Self { stick, pulse, path })
                })
            })
        })
    }
}

/// The positions in which a channel is looked at: everything at rest, and each switch that it names elsewhere.
fn positions(signals: &Signals, channel: u8) -> Vec<Option<(ControlId, u8)>> {
    let named = signals.program().mentions(u16::from(channel)).controls;
    let of = |control: ControlId| {
        let rest = signals.program().rests_at(Handle::Control(control));
        let all = (0..signals.positions(control)).filter(move |&at| rest != Some(Setting::Position(at)));
        all.map(move |at| Some((control, at)))
    };
    std::iter::once(None).chain(named.into_iter().flat_map(of)).collect()
}

/// Whether a pilot whose handset moves the servos itself has chosen what ends a stick's way on a channel, so that he loses nothing that
/// he believes he has: the way of a throttle or a brake, a subtrim of a surface, rates beyond full on an aeroplane.
pub fn is_chosen(subject: &Subject<'_>, channel: &Channel, stick: Stick) -> bool {
    if subject.craft.controller.is_some() {
        return false;
    }
    let beyond = beyond_full(channel).is_some() || rate_beyond_full(subject.model, stick).is_some();
    let by_subtrim = channel.subtrim.is_some() && !beyond && !is_cut_short(channel);
    stick == Stick::Throttle || by_subtrim || (beyond && subject.is(CraftKind::Aeroplane))
}

/// Whether a pulse lies at an end of the handset's scale or beyond, where the levels of a link end. Where less than a level lies
/// between two pulses inside of it, the link only rounds.
fn is_beyond_scale(signals: &Signals, sent: &Exact) -> bool {
    let scale = signals.program().parts().scale;
    let (centre, span) = (exact(scale.centre), exact(scale.span));
    *sent <= centre.minus(&span) || *sent >= centre.plus(&span)
}

/// A channel where everything rests but for a switch.
struct Stood<'s> {
    signals: &'s Signals,
    channel: u16,
    at: Option<(ControlId, u8)>,
    /// With the switch moved there.
    end: Option<End<'s>>,
}

impl<'s> Stood<'s> {
    fn at(signals: &'s Signals, at: Option<(ControlId, u8)>, channel: u8) -> Self {
        let end = at.map(|(control, position)| {
            let path = Path::at(signals.program().rest()).then(control, Setting::Position(position));
            signals.program().end_of(&path)
        });
        Self { signals, channel: u16::from(channel), at, end }
    }

    /// What can be read with a stick moved too, or there from the start where no switch is moved.
    fn read(&self, stick: ControlId, percent: Rational64) -> Option<ChannelReading> {
        let set = (Handle::Control(stick), Setting::Percent(percent));
        match &self.end {
            Some(end) => end.read_moved(&[set], self.channel),
            None => self.signals.program().read_with(&[set], self.channel),
        }
    }

    fn received(&self, stick: ControlId, percent: Rational64) -> Option<Exact> {
        self.read(stick, percent)?.received
    }
}
