//! `failsafe/throttle`: the stored failsafe keeps a motor running.

use super::{FROZEN, preset, rest_pulse, written};
use crate::fleet::Dimension;
use crate::rules::out::{Out, replace};
use crate::rules::wording::us;
use crate::setup::{MotorChannel, Setup};
use crate::signal::{Measure, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(plan) = preset(setup) else { return };
    for motor in setup.motor_channels() {
        let Some(stored) = plan.pulse(motor.channel) else { continue };
        let pulse = stored.pulse.value.to_f64();
        let why = match motor.idle {
            Some(idle) if stored.pulse.value < idle => continue,
            Some(idle) => format!("it idles below {}", written(idle)),
            None => {
                let limit = out.parameter("range", Dimension::Percent).to_f64();
                let Some(share) = share(setup, motor, pulse, out).filter(|share| *share > limit) else { continue };
                format!("that is {share:.0} % of its range, and where it idles is not stated")
            }
        };
        let message = format!(
            "When the link is lost the receiver gives the motor on channel {} a stored pulse of {}: {why}.",
            motor.channel,
            written(stored.pulse.value)
        );
        let rest = rest_pulse(setup, motor.channel).filter(|_| !motor.reversible);
        let finding = out.find_text(plan.head.place(stored.span), message);
        finding.other(motor.place, "the motor");
        match rest.filter(|rest| motor.idle.is_none_or(|idle| *rest < idle.to_f64()) && *rest != pulse) {
            Some(rest) => {
                let edit = replace(plan.head, stored.pulse.span, us(rest));
                let label = format!("store {}, the pulse of the lowest throttle stick. {FROZEN}", us(rest));
                finding.mend_sure(label, vec![edit]);
            }
            None => {
                finding.mend_words(format!("Store the pulse at which the motor stands still. {FROZEN}"));
            }
        }
    }
}

/// How much of a motor's range a pulse asks for, in percent, from the end at which the motor rests.
fn share(setup: &Setup<'_>, motor: MotorChannel, pulse: f64, out: &mut Out<'_>) -> Option<f64> {
    if motor.reversible {
        // It stands still in the middle, and full power is a span away from there.
        let (centre, span) = setup.handset?.scale.as_ref()?.value;
        return Some((pulse - centre.to_f64()).abs() / span.to_f64() * 100.0);
    }
    let signals = setup.signals()?;
    let place = setup.channel_place(motor.channel);
    let reach = out.range(signals, motor.channel, Measure::Sent, &Within::default(), place)?;
    let Reach::Range(range) = reach else { return None };
    let (low, high) = (range.low, range.high);
    if high <= low {
        return None;
    }
    let rest = rest_pulse(setup, motor.channel)?;
    let from_low = (pulse - low) / (high - low) * 100.0;
    Some(if rest - low <= high - rest { from_low } else { 100.0 - from_low })
}
