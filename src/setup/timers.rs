//! Whether a timer runs while a motor does.

use super::alarms::lasts;
use super::channel_use::sticks;
use super::ignition::ignitions;
use super::motors::Motor;
use super::signals::Signals;
use super::start_check::demands;
use super::stick_way::centred;
use super::subject::Subject;
use super::terms::{channels_tested, hangs_on};
use crate::fleet::Decimal;
use crate::fleet::condition::Condition as Written;
use crate::fleet::model::Timer;
use crate::fleet::words::Stick;
use crate::signal::{Condition, Function, Handle, Kept, Question, Setting, whole};

/// Whether a timer is longer than the battery of the aircraft lasts, where that is known.
pub(super) fn outlasts(subject: &Subject<'_>, timer: &Timer) -> bool {
    lasts(subject).is_some_and(|lasts| lasts.is_shorter_than(timer.time.value))
}

/// Whether a condition hangs on a channel of the aircraft, or on a control that moves one.
pub(super) fn is_of_the_aircraft(subject: &Subject<'_>, signals: &Signals, when: &Written) -> bool {
    let channels = subject.model.channels.iter().map(|channel| u16::from(channel.number.value));
    let mut named = channels.flat_map(|channel| signals.program().mentions(channel).controls);
    !channels_tested(when).is_empty() || named.any(|control| hangs_on(subject.model, when, signals.name(control)))
}

/// Do all motors run with more than a share, in percent, of their range while something does not hold? Where one follows the throttle
/// stick, that is looked at with the stick at its top; a control that moves no motor and does not arm stands as it does at the start.
pub(super) fn runs_without(
    subject: &Subject<'_>,
    signals: &Signals,
    motors: &[Motor<'_>],
    holds: &Condition,
    share: Decimal,
) -> Option<Question> {
    let mut all = vec![Condition::Not(Box::new(holds.clone()))];
    let mut named = Vec::new();
    for motor in motors {
        all.push(motor.lifted(subject.handset, share)?);
        // A line that is meant as a cut and fails has a rule of its own.
        let failing = motor.failing_cuts().filter_map(|line| motor.line(signals, line.at));
        all.extend(failing.map(|line| Condition::Not(Box::new(line))));
        named.extend(signals.program().mentions(u16::from(motor.number())).controls);
    }
    all.extend(signals.asks());
    // An engine without a spark does not run.
    all.extend(ignitions(subject).into_iter().map(|ignition| ignition.on));
    let arm = subject.arm_channels().into_iter();
    named.extend(arm.flat_map(|channel| signals.program().mentions(u16::from(channel)).controls));
    let start = signals.start(&demands(subject, signals));
    let others = signals.switches().into_iter().filter(|control| !named.contains(control));
    let question = centred(signals, Question::is(Condition::All(all)));
    let question = others.fold(question, |question, control| match start.get(Handle::Control(control)) {
        Some(setting) => question.keeping(Handle::Control(control), Kept::At(setting)),
        None => question,
    });
    let follows = |motor: &Motor<'_>| sticks(subject.model, subject.handset, motor.number()).contains(&Stick::Throttle);
    Some(match signals.stick(Function::Throttle).filter(|_| motors.iter().any(follows)) {
        Some(stick) => question.keeping(Handle::Control(stick), Kept::At(Setting::Percent(whole(100)))),
        None => question,
    })
}
