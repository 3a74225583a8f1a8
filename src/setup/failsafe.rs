//! The failsafe that acts when the link is lost: what is stored, and what the stored pulses do.

use super::motors::{MotorChannel, stands_still_at};
use super::signals::{Signals, float};
use super::subject::Subject;
use super::way::Way;
use crate::fleet::Decimal;
use crate::fleet::craft::{
    Controller, Craft, Failsafe, Idle, Mode, ModeTest, OnLoss, Outputs, PresetPulse, Receiver, Surface,
};
use crate::fleet::equipment::Head;
use crate::fleet::words::{CraftKind, FailsafeAction, LossAction, ModeKind, MotorKind};
use crate::signal::{Exact, Path, Reach};
use crate::source::{Located, Place, Span};
use num_rational::BigRational;

/// A multirotor lighter than this, in grams, does little harm where it falls. Common practice, no source.
const LIGHT_G: i64 = 250;

/// What happens at one receiver of an aircraft when the link is lost.
#[derive(Clone, Copy, Debug)]
pub struct AtLoss<'p> {
    /// The receiver; `None` where the aircraft states none.
    pub receiver: Option<&'p Receiver>,
    /// Whether it may hear the model, so that what the model says of a lost link is about it.
    pub hears: bool,
    /// The failsafe that acts; `None` where none is stated.
    pub plan: Option<Plan<'p>>,
}

impl<'p> AtLoss<'p> {
    /// One for each receiver that the `ways` of a subject lead to, or one without a receiver where there is none. A receiver
    /// on whose link nothing is sent does not hear the model, unless that holds for all of them: then the first is taken to.
    pub(super) fn of(subject: &Subject<'p>, ways: &[Way<'p>]) -> Vec<Self> {
        let model = subject.model;
        let told = model.failsafe.as_ref().map(|failsafe| Plan { failsafe, head: &model.head });
        if ways.is_empty() {
            return vec![Self { receiver: None, hears: true, plan: told }];
        }
        let may_hear = |way: &Way<'_>| way.bay.is_some() || way.link.is_none();
        let none_hears = !ways.iter().any(may_hear);
        let at = |(at, way): (usize, &Way<'p>)| {
            let hears = may_hear(way) || (none_hears && at == 0);
            let own = way.receiver.failsafe.as_ref();
            let own = own.map(|failsafe| Plan { failsafe, head: &subject.craft.head });
            Self { receiver: Some(way.receiver), hears, plan: own.or(told.filter(|_| hears)) }
        };
        ways.iter().enumerate().map(at).collect()
    }

    /// The failsafe that acts, where it does just that.
    pub fn does(&self, action: FailsafeAction) -> Option<Plan<'p>> {
        self.plan.filter(|plan| plan.action() == action)
    }

    /// Whether the receiver flags a lost link; `None` where that is not stated.
    pub fn flags_loss(&self) -> Option<bool> {
        Some(self.receiver?.outputs?.value == Outputs::Serial { flags_loss: true })
    }

    /// Whether the outputs of the receiver reach a channel, as far as is stated.
    pub fn drives(&self, channel: u8) -> bool {
        self.receiver.is_none_or(|receiver| receiver.drives(channel))
    }

    /// Where a receiver's outputs are stated to be serial without a flag: that statement, which could say otherwise.
    pub fn unflagged(&self) -> Option<Span> {
        let outputs = self.receiver?.outputs?;
        (outputs.value == Outputs::Serial { flags_loss: false }).then_some(outputs.span)
    }

    /// Where its outputs are stated to be pulses: that statement.
    pub fn pulses(&self) -> Option<Span> {
        let outputs = self.receiver?.outputs?;
        (outputs.value == Outputs::Pulses).then_some(outputs.span)
    }

    /// How the failsafe that the model states differs from the receiver's own, with both. `None` where they agree, where one
    /// of them is not stated, or where the model does not speak of this receiver.
    pub fn disagreement(&self, subject: &Subject<'p>) -> Option<(&'p Failsafe, &'p Failsafe, Disagreement)> {
        let told = subject.model.failsafe.as_ref().filter(|_| self.hears)?;
        let own = self.receiver?.failsafe.as_ref()?;
        let action = |failsafe: &Failsafe| failsafe.action.value;
        let first = |failsafe: &Failsafe| failsafe.hold_first.map(|first| first.value);
        let how = if (action(told), first(told)) == (action(own), first(own)) {
            let plans =
                (Plan { failsafe: told, head: &subject.model.head }, Plan { failsafe: own, head: &subject.craft.head });
            other_pulse(plans, &|channel| self.drives(channel))?
        } else {
            Disagreement::Plan
        };
        Some((told, own, how))
    }
}

/// How long the last commands go on being flown after the link is lost, as far as that is stated.
#[derive(Clone, Copy, Debug)]
pub struct Wait<'p> {
    /// The receiver's part: for how many seconds it repeats the last commands before it does something.
    pub held: Option<(Plan<'p>, Located<Decimal>)>,
    /// The controller's part: after how many seconds of a loss that it notices it does something.
    pub delay: Option<(OnLoss, Located<Decimal>)>,
    /// Whether the controller's part may be longer: it is to do something, and it is not stated after how long.
    pub open: bool,
}

impl<'p> Wait<'p> {
    /// What is stated of one receiver and of the controller. `None` where the receiver goes on for ever, which is a case of its own.
    pub fn of(at: &AtLoss<'p>, craft: &Craft) -> Option<Self> {
        let controller = craft.controller.as_ref();
        let action = at.plan.map(|plan| plan.action());
        let flagged = at.flags_loss() == Some(true);
        // A controller that is told of a loss by a flag need not wait for the outputs, nor for pulses that it can't take for real ones.
        let seen = || at.plan.zip(controller).is_some_and(|(plan, controller)| plan.is_seen(controller) == Some(true));
        let (counts_hold, notices) = match action {
            Some(FailsafeAction::Hold) if !flagged => return None,
            Some(FailsafeAction::Preset) if !flagged => (true, seen()),
            _ => (!(flagged && controller.is_some()), true),
        };
        let held = at.plan.filter(|_| counts_hold).and_then(|plan| Some((plan, plan.failsafe.hold_first?)));
        let loss = controller.and_then(acts).filter(|_| notices);
        let delay = loss.and_then(|loss| Some((loss, loss.delay?)));
        Some(Self { held, delay, open: loss.is_some() && delay.is_none() })
    }

    /// Whether another receiver waits for the same times.
    pub fn is_like(&self, other: &Self) -> bool {
        self.parts() == other.parts()
    }

    fn parts(&self) -> [Option<Decimal>; 2] {
        [self.held.map(|(_, held)| held.value), self.delay.map(|(_, delay)| delay.value)]
    }

    /// Both parts together, in seconds.
    pub fn seconds(&self) -> f64 {
        self.parts().into_iter().flatten().map(Decimal::to_f64).sum()
    }

    /// Whether both parts together are more than a limit in seconds.
    pub fn exceeds(&self, limit: Decimal) -> bool {
        let sum = self.parts().into_iter().flatten().map(Decimal::to_ratio).sum::<BigRational>();
        sum > limit.to_ratio()
    }

    /// A shorter time in seconds for one part that keeps to a limit with the other as it is: of the `held` part, else of the
    /// controller's. `None` where none of a few round times does.
    pub fn shorter(&self, held: bool, limit: Decimal) -> Option<Decimal> {
        let [own, other] = if held { self.parts() } else { [self.parts()[1], self.parts()[0]] };
        let other = other.unwrap_or_default().to_ratio();
        ROUND_S
            .into_iter()
            .find(|round| own.is_some_and(|own| *round < own) && round.to_ratio() + &other <= limit.to_ratio())
    }
}

/// Round times in seconds to propose, longest first.
const ROUND_S: [Decimal; 4] = [Decimal::whole(2), Decimal::whole(1), Decimal::new(5, 1), Decimal::new(2, 1)];

/// In what two failsafes differ.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Disagreement {
    /// In what is done.
    Plan,
    /// In what is stored for this channel: what the model says, and what the receiver says.
    Pulse(u8, Option<Decimal>, Option<Decimal>),
}

/// The first channel of those that the receiver `drives` whose stored pulses differ, with both. What one of the two does not say may
/// stand in a line of it that was not understood.
fn other_pulse((told, own): (Plan<'_>, Plan<'_>), drives: &dyn Fn(u8) -> bool) -> Option<Disagreement> {
    let channels = told.failsafe.preset.iter().chain(&own.failsafe.preset).map(|pulse| pulse.channel.value);
    let channels = channels.filter(|channel| drives(*channel));
    let pulse = |plan: &Plan<'_>, channel: u8| Some(stored(plan.failsafe, channel)?.pulse.value);
    let both = channels.map(|channel| (channel, pulse(&told, channel), pulse(&own, channel)));
    let is_open = |plan: &Plan<'_>, pulse: &Option<Decimal>| pulse.is_none() && plan.is_partly_lost();
    let differ = both.filter(|(_, here, there)| here != there && !is_open(&told, here) && !is_open(&own, there));
    let (channel, here, there) = differ.min_by_key(|(channel, ..)| *channel)?;
    Some(Disagreement::Pulse(channel, here, there))
}

/// What a failsafe stores for a channel.
fn stored(failsafe: &Failsafe, channel: u8) -> Option<&PresetPulse> {
    failsafe.preset.iter().find(|pulse| pulse.channel.value == channel)
}

/// The failsafe that acts: the receiver's where it states one, since the handset can't be heard then; else the one that
/// the model states.
#[derive(Clone, Copy, Debug)]
pub struct Plan<'p> {
    /// What is stated.
    pub failsafe: &'p Failsafe,
    /// The block in whose file it stands.
    pub head: &'p Head,
}

impl<'p> Plan<'p> {
    /// What it does.
    pub fn action(&self) -> FailsafeAction {
        self.failsafe.action.value
    }

    /// Its header.
    pub fn place(&self) -> Place {
        self.head.place(self.failsafe.header)
    }

    /// The whole statement, with its block.
    pub fn whole(&self) -> Span {
        let header = self.failsafe.header;
        Span::new(header.start, self.failsafe.body.map_or(header.end, |body| body.whole.end))
    }

    /// What is stored for a channel.
    pub fn pulse(&self, channel: u8) -> Option<&'p PresetPulse> {
        stored(self.failsafe, channel)
    }

    /// Whether some line of the preset could not be understood, so that a channel may be in it after all.
    pub fn is_partly_lost(&self) -> bool {
        self.head.lost_in(self.whole())
    }

    /// Whether the stored pulses turn a mode on; `None` where a channel that decides it is not in the preset.
    pub fn turns_on(&self, mode: &Mode) -> Option<bool> {
        let mut on = Some(false);
        for tests in &mode.any_of {
            match self.has_all(tests) {
                Some(true) => return Some(true),
                Some(false) => {}
                None => on = None,
            }
        }
        on
    }

    /// Whether the stored pulses lie in the ranges of all of these; `None` where a channel that decides it is not in the preset.
    fn has_all(&self, tests: &[ModeTest]) -> Option<bool> {
        let has = |test: &ModeTest| Some(test.has(self.pulse(test.channel.value)?.pulse.value));
        let found: Vec<Option<bool>> = tests.iter().map(has).collect();
        if found.contains(&Some(false)) {
            Some(false)
        } else {
            found.into_iter().collect::<Option<Vec<_>>>().map(|_| true)
        }
    }

    /// The first stored pulse that a mode looks at.
    pub fn looked_at<'m>(&self, mode: &'m Mode) -> Option<(&'m ModeTest, &'p PresetPulse)> {
        mode.tests().find_map(|test| Some((test, self.pulse(test.channel.value)?)))
    }

    /// The first stored pulse that keeps a mode off.
    pub fn keeps_off(&self, mode: &Mode) -> Option<&'p PresetPulse> {
        let off = |test: &ModeTest| self.pulse(test.channel.value).filter(|stored| !test.has(stored.pulse.value));
        mode.tests().find_map(off)
    }

    /// Whether a stored pulse is none that the controller takes for a signal; `None` where it is not stated which those are.
    pub fn is_seen(&self, controller: &Controller) -> Option<bool> {
        let (low, high) = controller.valid?.value;
        Some(self.failsafe.preset.iter().any(|stored| stored.pulse.value < low || stored.pulse.value > high))
    }

    /// Whether the stored pulses turn on a mode that flies back or lands; `None` where that is not known.
    pub fn brings_home(&self, controller: &Controller) -> Option<bool> {
        let home = |mode: &&Mode| mode.kind.is_some_and(|kind| matches!(kind.value, ModeKind::Return | ModeKind::Land));
        let mut found = Some(false);
        for mode in controller.modes.iter().filter(home) {
            match self.turns_on(mode) {
                Some(true) => return Some(true),
                Some(false) => {}
                None => found = None,
            }
        }
        found
    }
}

/// What a controller does at a loss, where it does something.
pub fn acts(controller: &Controller) -> Option<OnLoss> {
    controller.on_loss.filter(|loss| loss.action != LossAction::Nothing)
}

/// Whether nothing drives the aircraft: a glider whose description has no motor.
pub fn is_motorless(craft: &Craft) -> bool {
    if let Some(motor) = craft.motor {
        return motor.value == MotorKind::None;
    }
    let glider = craft.kind.is_some_and(|kind| kind.value == CraftKind::Glider);
    glider && craft.controller.is_none() && craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.motors.is_empty())
}

/// Whether something drives the aircraft, as far as its description tells: a glider whose description does not speak of a
/// motor may have none.
pub fn is_powered(craft: &Craft) -> bool {
    let glider = craft.kind.is_some_and(|kind| kind.value == CraftKind::Glider) && craft.motor.is_none();
    !is_motorless(craft) && !glider
}

/// Whether the aircraft is a multirotor so light that a fall does little harm.
pub fn is_light(craft: &Craft) -> bool {
    craft.kind.is_some_and(|kind| kind.value == CraftKind::Multirotor)
        && craft.weight.is_some_and(|weight| weight.value < Decimal::whole(LIGHT_G))
}

/// The winches of a boat without a motor that a preset hauls in, as far as it is stated which way they let out.
pub fn hauled_in<'f>(subject: &Subject<'f>, at: &AtLoss<'f>, plan: &Plan<'f>) -> Vec<(&'f Surface, &'f PresetPulse)> {
    let (Some(surfaces), Some(scale)) =
        (&subject.craft.surfaces, subject.handset.and_then(|handset| handset.scale.as_ref()))
    else {
        return Vec::new();
    };
    if !surfaces.motors.is_empty() || subject.craft.motor.is_some_and(|motor| motor.value != MotorKind::None) {
        return Vec::new();
    }
    let hauled = |surface: &'f Surface| {
        let stored = plan.pulse(surface.channel.value).filter(|_| at.drives(surface.channel.value))?;
        (stored.pulse.value < scale.value.0).then_some((surface, stored))
    };
    surfaces.channels.iter().filter(|surface| surface.lets_out_high()).filter_map(hauled).collect()
}

/// Whether the aircraft comes down on wings when nothing drives it any longer.
pub fn glides(craft: &Craft) -> bool {
    use CraftKind::{Aeroplane, Autogyro, FlyingWing, Glider};
    craft.kind.is_some_and(|kind| matches!(kind.value, Aeroplane | FlyingWing | Glider | Autogyro))
}

/// The pulse that the model sends on a channel at rest, with the throttle stick at its lowest. A preset does not travel over
/// the link, so no level of it counts.
pub fn rest_pulse(signals: &Signals, channel: u8) -> Option<Exact> {
    let program = signals.program();
    let reading = program.play(&Path::at(program.rest()));
    Some(reading.channel(u16::from(channel))?.sent.clone())
}

/// Whether a stored pulse is one at which the speed control of a car commonly brakes: a little into reverse, by the pulse of a channel
/// that is not turned round.
pub fn may_brake(subject: &Subject<'_>, motor: &MotorChannel, stored: Decimal) -> bool {
    /// How far into reverse a brake is stored, in percent (common practice, no source).
    const BRAKES: Decimal = Decimal::whole(50);
    let behind = matches!(motor.idle, Some(Idle::Within(low, _)) if stored < low);
    let turned = subject.model.channel(motor.channel).is_none_or(|channel| channel.reversed.is_some());
    let little = Share::of_reversible(subject, stored).is_some_and(|share| !share.exceeds(BRAKES));
    subject.is(CraftKind::Car) && motor.reversible && behind && !turned && little
}

/// How much of a motor's range a stored pulse asks for, from the end at which the motor rests.
#[derive(Clone, Copy, Debug)]
pub struct Share {
    /// In percent.
    pub percent: f64,
}

impl Share {
    /// Of a motor that can run backwards: it stands still in the middle of the handset's scale, and full power is a span away
    /// from there. `None` without a scale.
    pub fn of_reversible(subject: &Subject<'_>, stored: Decimal) -> Option<Self> {
        let (centre, span) = subject.handset?.scale.as_ref()?.value;
        Some(Self { percent: (stored.to_f64() - centre.to_f64()).abs() / span.to_f64() * 100.0 })
    }

    /// Of any other motor, by all that its channel can be sent. `None` where that is no range.
    pub fn of_range(signals: &Signals, motor: &MotorChannel, stored: Decimal, sent: &Reach) -> Option<Self> {
        let Reach::Range(range) = sent else { return None };
        let (low, high) = (range.low, range.high);
        let rest = float(&rest_pulse(signals, motor.channel)?);
        let from_low = (stored.to_f64() - low) / (high - low) * 100.0;
        let percent = if rest - low <= high - rest { from_low } else { 100.0 - from_low };
        (high > low).then_some(Self { percent })
    }

    /// Whether it is more than a limit in percent.
    pub fn exceeds(&self, limit: Decimal) -> bool {
        self.percent > limit.to_f64()
    }
}

/// The pulse that the model sends on a channel at rest, where it lies outside of what a test of a mode looks for.
pub fn rest_outside(signals: &Signals, test: &ModeTest) -> Option<Exact> {
    let (low, high) = test.range.value;
    let rest = rest_pulse(signals, test.channel.value)?;
    let pulse = float(&rest);
    (pulse < low.to_f64() || pulse > high.to_f64()).then_some(rest)
}

/// The pulse that the model sends to a motor at rest, where it idles there and is another one than what is stored.
pub fn rest_idle(signals: &Signals, motor: &MotorChannel, stored: Decimal) -> Option<Exact> {
    let rest = rest_pulse(signals, motor.channel)?;
    let pulse = float(&rest);
    let idles = motor.idle.is_none_or(|idle| stands_still_at(idle, &rest));
    (!motor.reversible && idles && pulse != stored.to_f64()).then_some(rest)
}
