//! What drives a motor, what idles it and what cuts it.

use super::signals::{Signals, above, at_least, below, float};
use super::subject::{Subject, exactly, number};
use super::terms::{constant, is_plain_control, only_rises};
use crate::fleet::Decimal;
use crate::fleet::condition::ConditionKind;
use crate::fleet::craft::Idle;
use crate::fleet::equipment::Handset;
use crate::fleet::model::{Channel, ValueLine};
use crate::fleet::words::{CraftKind, MotorKind, Stick};
use crate::signal::{
    Condition, Exact, Function, Handle, Kept, Measure, Movement, Path, Question, Reach, Setting, exact, whole,
};
use crate::source::Place;
use compact_str::CompactString;

/// A channel that drives a motor, as the aircraft's description states it.
#[derive(Clone, Copy, Debug)]
pub struct MotorChannel {
    /// The channel.
    pub channel: u8,
    /// It idles below this pulse, in microseconds; absent: not stated.
    pub idle: Option<Decimal>,
    /// Whether it can run backwards.
    pub reversible: bool,
    /// Where the aircraft says so.
    pub place: Place,
}

/// A motor of an aircraft, with the channel of the model that drives it.
#[derive(Clone, Debug)]
pub struct Motor<'f> {
    /// The channel.
    pub channel: &'f Channel,
    /// It idles below this pulse, in microseconds; absent: not stated.
    pub idle: Option<Decimal>,
    /// Whether it can run backwards.
    pub reversible: bool,
    /// Where the aircraft says so.
    pub place: Place,
    /// The lines that are a constant and nothing else, in a channel of several.
    pub constants: Vec<ConstantLine<'f>>,
}

/// A value line of a motor's channel that is a constant and nothing else.
#[derive(Clone, Debug)]
pub struct ConstantLine<'f> {
    /// Its number among the channel's lines, from 0.
    pub at: usize,
    /// The line.
    pub line: &'f ValueLine,
    /// What it says, in percent.
    pub percent: Decimal,
    /// What is sent, in microseconds; `None` where the handset's scale is not known.
    pub pulse: Option<Exact>,
}

/// A cut of two lines on a two-position switch: the first cuts, the second runs.
#[derive(Clone, Debug)]
pub struct SwitchCut<'f> {
    /// The switch.
    pub control: &'f str,
    /// The position that cuts.
    pub off: &'f str,
    /// The other.
    pub on: CompactString,
    /// What the channel is while nothing cuts.
    pub running: &'f ValueLine,
}

/// Where a motor's pulse falls while the throttle stick rises.
#[derive(Clone, Debug)]
pub struct Falls {
    /// The stick, in percent, and the pulse before.
    pub before: (i64, Exact),
    /// The same after.
    pub after: (i64, Exact),
    /// The way to the state after.
    pub path: Path,
}

/// How far apart the stick positions are that are looked at, in percent.
const STEP: usize = 5;

/// A difference of pulses that counts, in microseconds.
const DIFFERS_US: f64 = 0.5;

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
        let idle = controller.idle_below.map(|idle| idle.value);
        motors.push(MotorChannel { channel, idle, reversible: false, place: subject.in_craft(span) });
    }
    motors.extend(craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors).map(|motor| MotorChannel {
        channel: motor.channel.value,
        idle: motor.idle.and_then(|idle| match idle.value {
            Idle::Below(edge) => Some(edge),
            Idle::Above(_) | Idle::Within(..) => None,
        }),
        reversible: motor.reversible,
        place: subject.in_craft(motor.span),
    }));
    motors
}

/// The motors whose channels the model defines.
pub(super) fn find<'f>(subject: &Subject<'f>) -> Vec<Motor<'f>> {
    let motors = channels(subject).into_iter().filter_map(|motor| {
        let channel = subject.model.channel(motor.channel)?;
        let constants = constants(channel, subject.handset);
        Some(Motor { channel, idle: motor.idle, reversible: motor.reversible, place: motor.place, constants })
    });
    motors.collect()
}

fn constants<'f>(channel: &'f Channel, handset: Option<&Handset>) -> Vec<ConstantLine<'f>> {
    let lines = channel.lines.iter().enumerate().filter(|_| channel.lines.len() > 1);
    let constants = lines.filter_map(|(at, line)| {
        let percent = constant(&line.value)?;
        Some(ConstantLine { at, line, percent, pulse: constant_pulse(channel, handset, percent) })
    });
    constants.collect()
}

/// The pulse that a constant line gives, as it is sent.
fn constant_pulse(channel: &Channel, handset: Option<&Handset>, percent: Decimal) -> Option<Exact> {
    let (centre, span) = handset?.scale.as_ref()?.value;
    let centre = exactly(channel.centre.map_or(centre, |centre| centre.value));
    let straight = exactly(percent);
    let turned = if channel.reversed.is_some() { straight.negate() } else { straight };
    let moved = turned.plus(&exactly(channel.subtrim.map_or(Decimal::whole(0), |subtrim| subtrim.value)));
    let (low, high) = channel.travel.map_or((Decimal::whole(-100), Decimal::whole(100)), |travel| travel.value);
    let held = if low <= high { moved.clamp(exactly(low), exactly(high)) } else { moved };
    Some(centre.plus(&exactly(span).times(&held).over(&exact(whole(100)))))
}

/// Whether a helicopter's throttle hold or idle-up switch is asked for before the start.
pub fn is_checked_helicopter(subject: &Subject<'_>) -> bool {
    subject.is(CraftKind::Helicopter)
        && subject.model.before_start.iter().any(|start| start.control.value != "throttle")
}

/// A question with the throttle stick at its lowest, and its trim centred unless the `trim` may be anywhere. `None` without
/// a throttle stick.
pub fn lowest(signals: &Signals, question: Question, trim: bool) -> Option<Question> {
    let stick = signals.stick(Function::Throttle)?;
    let question = question.keeping(Handle::Control(stick), Kept::At(Setting::Percent(whole(-100))));
    Some(if trim { question } else { question.keeping(Handle::Trim(stick), Kept::At(Setting::Percent(whole(0)))) })
}

impl<'f> Motor<'f> {
    /// The number of its channel.
    pub fn number(&self) -> u8 {
        self.channel.number.value
    }

    fn received(&self, bounds: crate::signal::Bounds) -> Condition {
        Condition::Channel(u16::from(self.number()), Measure::Received, bounds)
    }

    /// The motor idles: its pulse is below its idle.
    pub fn idles(&self) -> Option<Condition> {
        Some(self.received(below(number(self.idle?))))
    }

    /// The motor does not idle.
    pub fn runs(&self) -> Option<Condition> {
        Some(self.received(at_least(number(self.idle?))))
    }

    /// Its pulse lies above a share, in percent, of the whole range of the handset's scale. `None` without a scale.
    pub fn lifted(&self, handset: Option<&Handset>, share: Decimal) -> Option<Condition> {
        let (centre, span) = handset?.scale.as_ref()?.value;
        let span = exactly(span);
        let moved = span.times(&exactly(share)).over(&exact(whole(50)));
        Some(self.received(above(exactly(centre).minus(&span).plus(&moved).rounded())))
    }

    /// It runs backwards: its pulse lies more than a tenth of the way below the middle (common practice, no source). `None`
    /// without a scale.
    pub fn backwards(&self, handset: Option<&Handset>) -> Option<Condition> {
        let (centre, span) = handset?.scale.as_ref()?.value;
        let tenth = exactly(span).over(&exact(whole(10)));
        Some(self.received(below(exactly(centre).minus(&tenth).rounded())))
    }

    /// Whether it idles over a whole range of pulses.
    pub fn idles_throughout(&self, reach: &Reach) -> bool {
        matches!((reach, self.idle), (Reach::Range(range), Some(idle)) if range.high < idle.to_f64())
    }

    /// What it receives at the end of a path.
    pub fn pulse(&self, signals: &Signals, path: &Path) -> Option<Exact> {
        signals.program().play(path).channel(u16::from(self.number()))?.received.clone()
    }

    /// Whether a single unconditional line is nothing but a control, so that no switch lifts it.
    pub fn is_plain(&self) -> bool {
        matches!(self.channel.lines.as_slice(), [line] if line.when.is_none() && is_plain_control(&line.value))
    }

    /// The constant lines that are meant as a cut and do not idle; `throttle/cut-fails` says so.
    pub fn failing_cuts(&self) -> impl Iterator<Item = &ConstantLine<'f>> {
        let idle = self.idle.map(exactly);
        self.constants.iter().filter(move |constant| {
            let pulse = constant.pulse.as_ref().zip(idle.as_ref());
            constant.percent.mantissa() <= 0 && pulse.is_some_and(|(pulse, idle)| pulse >= idle)
        })
    }

    /// The cut is in force: one of the lines that give an idle constant is the one that holds. `None` without such a
    /// line.
    pub fn cut(&self, signals: &Signals) -> Option<Condition> {
        let idle = exactly(self.idle?);
        let cuts = self.constants.iter().filter(|line| line.pulse.as_ref().is_some_and(|at| *at < idle));
        let any = cuts.map(|line| self.line(signals, line.at)).collect::<Option<Vec<_>>>()?;
        (!any.is_empty()).then_some(Condition::Any(any))
    }

    /// The line with this number is the one that holds.
    pub fn line(&self, signals: &Signals, at: usize) -> Option<Condition> {
        let mut all = Vec::with_capacity(at + 1);
        for (index, line) in self.channel.lines.iter().enumerate().take(at + 1) {
            let when = match &line.when {
                Some(when) => signals.lowered().when(when).ok()?,
                None => Condition::Constant(true),
            };
            all.push(if index == at { when } else { Condition::Not(Box::new(when)) });
        }
        Some(Condition::All(all))
    }

    /// The cut of two lines on one two-position switch, where it is one.
    pub fn switch_cut(&self, handset: Option<&Handset>) -> Option<SwitchCut<'f>> {
        let [cut, running] = self.channel.lines.as_slice() else { return None };
        let (Some(when), None, Some(_)) = (&cut.when, &running.when, constant(&cut.value)) else { return None };
        let ConditionKind::Position { control, position, becomes: false } = &when.kind else { return None };
        let kind = handset?.control(&control.value)?.kind;
        let off = kind.position(&position.value).filter(|_| kind.positions() == 2)?;
        Some(SwitchCut { control: &control.value, off: &position.value, on: kind.position_name(1 - off), running })
    }

    /// Whether its channel can, by its form, only rise with the throttle stick.
    pub fn only_rises(&self, subject: &Subject<'_>) -> bool {
        self.channel.lines.iter().all(|line| only_rises(subject.model, &line.value))
    }

    /// Where its pulse falls while the throttle stick rises behind a path, and rises elsewhere; every 5 % is looked at.
    pub fn falls(&self, signals: &Signals, path: &Path) -> Option<Falls> {
        let stick = signals.stick(Function::Throttle)?;
        let at = |percent: i64| {
            let mut path = path.clone();
            path.movements
                .push(Movement { sets: vec![(Handle::Control(stick), Setting::Percent(whole(percent)))], held: 0 });
            let pulse = signals.program().read(&path, u16::from(self.number()))?.received?;
            Some((percent, float(&pulse), pulse, path))
        };
        let pulses: Vec<_> = (-100..=100).step_by(STEP).filter_map(at).collect();
        let falls = pulses.windows(2).find(|next| next[1].1 < next[0].1 - DIFFERS_US)?;
        pulses.windows(2).find(|next| next[1].1 > next[0].1 + DIFFERS_US)?;
        let [(low, _, before, _), (high, _, after, path)] = falls else { return None };
        Some(Falls { before: (*low, before.clone()), after: (*high, after.clone()), path: path.clone() })
    }
}
