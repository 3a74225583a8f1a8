//! What drives a motor, where it idles, and where the control that drives it rests.

use super::cuts::{ConstantLine, constants};
use super::signals::{Signals, above, at_least, at_most, below};
use super::subject::{Subject, around, exactly, number};
use super::terms::{control_of, only_rises};
use crate::fleet::Decimal;
use crate::fleet::craft::Idle;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Channel;
use crate::fleet::words::{MotorKind, Side, Stick};
use crate::signal::{
    Bound, Bounds, Condition, ControlId, Exact, Function, Handle, Kept, Measure, Path, Question, Setting, exact, whole,
};
use crate::source::Place;

/// Whether a motor stands still at a pulse of the signal path.
pub fn stands_still_at(idle: Idle, pulse: &Exact) -> bool {
    match idle {
        Idle::Below(end) => *pulse < exactly(end),
        Idle::Above(end) => *pulse > exactly(end),
        Idle::Within(low, high) => exactly(low) <= *pulse && *pulse <= exactly(high),
    }
}

/// The pulses at which a motor stands still.
pub fn still(idle: Idle) -> Bounds {
    match idle {
        Idle::Below(end) => below(number(end)),
        Idle::Above(end) => above(number(end)),
        Idle::Within(low, high) => Bounds {
            low: Some(Bound { at: number(low), strict: false }),
            high: Some(Bound { at: number(high), strict: false }),
        },
    }
}

/// All other pulses, as one or two ranges.
fn moving(idle: Idle) -> Vec<Bounds> {
    match idle {
        Idle::Below(end) => vec![at_least(number(end))],
        Idle::Above(end) => vec![at_most(number(end))],
        Idle::Within(low, high) => vec![below(number(low)), above(number(high))],
    }
}

/// A channel that drives a motor, as the aircraft's description states it.
#[derive(Clone, Copy, Debug)]
pub struct MotorChannel {
    /// The channel.
    pub channel: u8,
    /// Where it idles; absent: not stated.
    pub idle: Option<Idle>,
    /// Whether it can run backwards.
    pub reversible: bool,
    /// Whether it is stated from which pulse on it runs ahead at full power.
    pub full_stated: bool,
    /// The side it is on, where that is stated.
    pub side: Option<Side>,
    /// Where the aircraft says so.
    pub place: Place,
}

/// A motor of an aircraft, with the channel of the model that drives it.
#[derive(Clone, Debug)]
pub struct Motor<'f> {
    /// The channel.
    pub channel: &'f Channel,
    /// Where it idles; absent: not stated.
    pub idle: Option<Idle>,
    /// Whether it can run backwards.
    pub reversible: bool,
    /// Whether it is stated from which pulse on it runs ahead at full power.
    pub full_stated: bool,
    /// The side it is on, where that is stated.
    pub side: Option<Side>,
    /// Where the aircraft says so.
    pub place: Place,
    /// The lines that are a constant and nothing else, in a channel of several.
    pub constants: Vec<ConstantLine<'f>>,
}

/// The channels that drive motors: the controller's throttle, and the motors among the surfaces; none where the
/// description says that nothing drives it.
pub(super) fn channels(subject: &Subject<'_>) -> Vec<MotorChannel> {
    let craft = subject.craft;
    if craft.motor.is_some_and(|motor| motor.value == MotorKind::None) {
        return Vec::new();
    }
    let mut motors = Vec::new();
    if let Some(controller) = &craft.controller
        && let Some(channel) = controller.channel_of(Stick::Throttle)
    {
        let span = controller.idle_below.map_or(controller.header, |idle| idle.span);
        let idle = controller.idle_below.map(|idle| Idle::Below(idle.value));
        let place = subject.in_craft(span);
        motors.push(MotorChannel {
            channel,
            idle,
            reversible: false,
            full_stated: controller.full_above.is_some(),
            side: None,
            place,
        });
    }
    motors.extend(craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors).map(|motor| MotorChannel {
        channel: motor.channel.value,
        idle: motor.idle.map(|idle| idle.value),
        reversible: motor.runs_both_ways(),
        full_stated: motor.full.is_some(),
        side: motor.side.map(|side| side.value),
        place: subject.in_craft(motor.span),
    }));
    motors
}

/// The motors whose channels the model defines.
pub(super) fn find<'f>(subject: &Subject<'f>) -> Vec<Motor<'f>> {
    let motors = channels(subject).into_iter().filter_map(|motor| {
        let channel = subject.model.channel(motor.channel)?;
        let MotorChannel { idle, reversible, full_stated, side, place, .. } = motor;
        Some(Motor {
            channel,
            idle,
            reversible,
            full_stated,
            side,
            place,
            constants: constants(channel, subject.handset),
        })
    });
    motors.collect()
}

/// A question with the throttle where the pilot leaves it, and its trim centred unless the `trim` may be anywhere. `None` without
/// a throttle stick.
pub fn resting(signals: &Signals, question: Question, rest: i64, trim: bool) -> Option<Question> {
    let stick = signals.stick(Function::Throttle)?;
    let question = question.keeping(Handle::Control(stick), Kept::At(Setting::Percent(whole(rest))));
    Some(if trim { question } else { question.keeping(Handle::Trim(stick), Kept::At(Setting::Percent(whole(0)))) })
}

/// The throttle stands exactly there, in percent. `None` without a throttle stick.
pub fn throttle_at(signals: &Signals, percent: i64) -> Option<Condition> {
    let at = Some(Bound { at: whole(percent), strict: false });
    Some(Condition::Axis(signals.stick(Function::Throttle)?, Bounds { low: at, high: at }))
}

impl<'f> Motor<'f> {
    /// The number of its channel.
    pub fn number(&self) -> u8 {
        self.channel.number.value
    }

    fn received(&self, bounds: Bounds) -> Condition {
        Condition::Channel(u16::from(self.number()), Measure::Received, bounds)
    }

    fn in_one_of(&self, mut bounds: Vec<Bounds>) -> Condition {
        match bounds.pop() {
            Some(last) if bounds.is_empty() => self.received(last),
            last => Condition::Any(bounds.into_iter().chain(last).map(|bounds| self.received(bounds)).collect()),
        }
    }

    /// The motor idles.
    pub fn idles(&self) -> Option<Condition> {
        Some(self.received(still(self.idle?)))
    }

    /// The motor does not idle.
    pub fn runs(&self) -> Option<Condition> {
        Some(self.in_one_of(moving(self.idle?)))
    }

    /// Its pulse lies more than a share, in percent, of what is left of the handset's scale away from the edge of where it idles, on
    /// each side where it runs. `None` without a scale, or where it is not stated where it idles.
    pub fn lifted(&self, handset: Option<&Handset>, share: Decimal) -> Option<Condition> {
        let (centre, span) = handset?.scale.as_ref()?.value;
        let (centre, span) = (exactly(centre), exactly(span));
        let (low, high) = (centre.minus(&span), centre.plus(&span));
        // From an edge to an end; an edge beyond the end leaves nothing.
        let on_the_way = |edge: Decimal, end: &Exact| {
            let edge = exactly(edge);
            let way = end.minus(&edge).times(&exactly(share)).over(&exact(whole(100)));
            edge.plus(&way).rounded()
        };
        Some(self.in_one_of(match self.idle? {
            Idle::Below(edge) => vec![above(on_the_way(edge, &high))],
            Idle::Above(edge) => vec![below(on_the_way(edge, &low))],
            Idle::Within(from, to) => vec![below(on_the_way(from, &low)), above(on_the_way(to, &high))],
        }))
    }

    /// Where it stands still: as stated, else for a motor that can run backwards within a tenth of the way around the middle (common
    /// practice, no source). `None` without a scale, or where it is not stated for a motor that runs one way.
    pub fn stands_still(&self, handset: Option<&Handset>) -> Option<Condition> {
        if self.idle.is_some() || !self.reversible {
            return self.idles();
        }
        let (centre, span) = handset?.scale.as_ref()?.value;
        let [low, high] = around(centre, span.shifted(1)?);
        let bound = |at| Some(Bound { at, strict: false });
        Some(self.received(Bounds { low: bound(low), high: bound(high) }))
    }

    /// Whether more of its pulse is more power.
    pub fn rises_with_pulse(&self) -> bool {
        !matches!(self.idle, Some(Idle::Above(_)))
    }

    /// What it receives at the end of a path.
    pub fn pulse(&self, signals: &Signals, path: &Path) -> Option<Exact> {
        signals.program().play(path).channel(u16::from(self.number()))?.received.clone()
    }

    /// Whether a single unconditional line is nothing but a control that is an axis, so that no switch lifts it.
    pub fn is_plain(&self, signals: &Signals) -> bool {
        matches!(self.channel.lines.as_slice(), [line] if line.when.is_none() && control_of(&line.value).is_some())
            && self.switches(signals).is_empty()
    }

    /// The switches and buttons that its channel names, also by way of other channels and conditions.
    pub fn switches(&self, signals: &Signals) -> Vec<ControlId> {
        let named = signals.program().mentions(u16::from(self.number())).controls;
        named.into_iter().filter(|&control| signals.positions(control) > 0).collect()
    }

    /// Whether its channel can, by its form, only rise with the throttle stick.
    pub fn only_rises(&self, subject: &Subject<'_>) -> bool {
        self.channel.lines.iter().all(|line| only_rises(subject.model, &line.value))
    }
}
