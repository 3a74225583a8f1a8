//! `failsafe/throttle`: the stored failsafe keeps a motor running.

use super::{FROZEN, once_all_have, presets, written};
use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Amount, Fact, Unit, amount, channel, idles, us};
use crate::findings::hands::lowest;
use crate::fleet::craft::Idle;
use crate::fleet::table::Block;
use crate::fleet::{Decimal, Dimension};
use crate::rules::out::{Out, replace};
use crate::setup::failsafe::{may_brake, rest_idle};
use crate::setup::{MotorChannel, Setup, Share};
use crate::signal::{Measure, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (at, plan) in presets(setup) {
        for motor in setup.motor_channels().iter().filter(|motor| at.drives(motor.channel)) {
            let Some(stored) = plan.pulse(motor.channel) else { continue };
            let pulse = stored.pulse.value;
            let Some((key, sentence, why)) = why(setup, motor, pulse, out) else { continue };
            if may_brake(setup, motor, pulse) {
                let sentence = "When the link is lost the receiver gives the motor on channel {channel} a stored pulse of {stored}, a little into reverse: a speed control that brakes there stops the car, and one that drives backwards does not.";
                out.find(
                    plan.head.place(stored.span),
                    "brakes",
                    sentence,
                    [channel(motor.channel), us("stored", pulse)],
                )
                .severity(Severity::Note)
                .other(motor.place, "the motor")
                .mend_words("Look what yours does, wheels off the ground.");
                continue;
            }
            let facts = [channel(motor.channel), us("stored", pulse), why];
            let finding = out.find(plan.head.place(stored.span), key, sentence, facts);
            let stays_down = setup.craft.stays_down();
            finding.other(motor.place, "the motor").case(if stays_down { "stays down" } else { "" });
            once_all_have(setup, at, finding);
            match setup.signals().and_then(|signals| rest_idle(signals, motor, pulse)) {
                Some(rest) => {
                    let rest = written(&rest);
                    let label = format!("store {rest}, the pulse with the {}. {FROZEN}", lowest(setup.hands().grip));
                    finding.mend_offer(label, vec![replace(plan.head, stored.pulse.span, rest)]);
                }
                None => {
                    finding.mend_words(format!("Store the pulse at which the motor stands still. {FROZEN}"));
                }
            }
        }
    }
}

/// Why a stored pulse runs a motor: the case, its sentence, and what it rests on.
fn why(
    setup: &Setup<'_>,
    motor: &MotorChannel,
    stored: Decimal,
    out: &mut Out<'_>,
) -> Option<(&'static str, &'static str, Fact)> {
    // A motor that can run backwards and is said to idle below a pulse is not still in full reverse.
    let known = |idle: &Idle| !motor.reversible || matches!(idle, Idle::Within(..)) || !idle.has(stored);
    if let Some(idle) = motor.idle.filter(known) {
        let sentence = "When the link is lost the receiver gives the motor on channel {channel} a stored pulse of {stored}: it idles {idle}.";
        return (!idle.has(stored)).then(|| ("above idle", sentence, idles("idle", idle)));
    }
    let share = if motor.reversible {
        let share = Share::of_reversible(setup, stored);
        if share.is_none() {
            let within = "handset".into();
            out.misses(Missing::Statement { block: Block::Handset, word: "scale", within, form: "" });
        }
        share
    } else {
        let (signals, place) = (setup.signals()?, setup.channel_place(motor.channel));
        let sent = out.range(signals, motor.channel, Measure::Sent, &Within::default(), place)?;
        Share::of_range(signals, motor, stored, &sent)
    };
    let share = share.filter(|share| share.exceeds(out.parameter("range", Dimension::Percent)))?;
    let sentence = match motor.reversible {
        true => {
            "When the link is lost the receiver gives the motor on channel {channel} a stored pulse of {stored}: that is {share} of its way from the middle to full forward or reverse."
        }
        false => {
            "When the link is lost the receiver gives the motor on channel {channel} a stored pulse of {stored}: that is {share} of its range, and where it idles is not stated."
        }
    };
    Some(("share", sentence, amount("share", Amount::Computed(share.percent, 0), Unit::Percent)))
}
