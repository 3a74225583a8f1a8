//! Motors of which the place where they are said to idle is likely wrong.

use super::failsafe::{AtLoss, rest_pulse};
use super::motors::{self, Motor, MotorChannel, stands_still_at};
use super::signals::{Signals, float};
use super::subject::Subject;
use crate::fleet::Decimal;
use crate::fleet::craft::Idle;
use crate::fleet::words::FailsafeAction;
use crate::signal::Exact;
use crate::source::{Located, Place};

/// How far apart two pulses at one end of a motor's range may lie, in microseconds (common practice, no source).
const SAME_END_US: f64 = 50.0;

/// A motor that nothing stops that is meant to: the lowest stick, each cut, and the stored failsafe would all run it.
#[derive(Clone, Debug)]
pub struct Misstated<'f> {
    /// The motor.
    pub motor: MotorChannel,
    /// Where it is said to idle.
    pub idle: Idle,
    /// What the lowest stick sends.
    pub lowest: Exact,
    /// What is stored.
    pub stored: &'f Located<Decimal>,
    /// Where that is stored.
    pub place: Place,
}

/// The motors that run one way of which that is so. What is stored in the receiver does not hang on the model: where both agree with
/// each other, and neither with the motor's line, it is that line.
pub(super) fn find<'f>(subject: &Subject<'f>, signals: Option<&Signals>, at_loss: &[AtLoss<'f>]) -> Vec<Misstated<'f>> {
    let Some(signals) = signals else { return Vec::new() };
    let wrong = |motor: &Motor<'f>| {
        let idle = motor.idle.filter(|_| !motor.reversible)?;
        let lowest = rest_pulse(signals, motor.number())?;
        let cuts = motor.constants.iter().filter_map(|line| line.pulse.as_ref());
        if stands_still_at(idle, &lowest) || cuts.clone().any(|pulse| stands_still_at(idle, pulse)) {
            return None;
        }
        let mut stored = at_loss.iter().filter(|at| at.drives(motor.number())).filter_map(|at| {
            let plan = at.does(FailsafeAction::Preset)?;
            Some((plan.pulse(motor.number())?, plan))
        });
        let (pulse, plan) = stored.next()?;
        let all = std::iter::once(pulse).chain(stored.map(|(pulse, _)| pulse));
        if all.into_iter().any(|pulse| idle.has(pulse.pulse.value)) {
            return None;
        }
        // An edge that is only a little off is more likely a pulse that is a little off.
        let (centre, span) = subject.handset?.scale.as_ref()?.value;
        let (low, centre, span) = (float(&lowest), centre.to_f64(), span.to_f64());
        let far = match idle {
            Idle::Below(edge) => low > centre || edge.to_f64() < centre - 2.0 * span,
            Idle::Above(edge) => low < centre || edge.to_f64() > centre + 2.0 * span,
            Idle::Within(..) => false,
        };
        if !far {
            return None;
        }
        // Both at the same end: a failsafe that runs the motor is a mistake of its own.
        if (low - pulse.pulse.value.to_f64()).abs() > SAME_END_US {
            return None;
        }
        let motor = motors::channels(subject).into_iter().find(|known| known.channel == motor.number())?;
        Some(Misstated { motor, idle, lowest, stored: &pulse.pulse, place: plan.head.place(pulse.span) })
    };
    motors::find(subject).iter().filter_map(wrong).collect()
}
