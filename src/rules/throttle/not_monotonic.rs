//! `throttle/not-monotonic`: the throttle falls somewhere while its stick rises.

use super::{constant, motors};
use crate::fleet::condition::{Value, ValueKind};
use crate::fleet::words::CraftKind;
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::{Setup, float};
use crate::signal::{Answer, Function, Handle, Movement, Path, Question, Setting, whole};

/// How far apart the stick positions are that are looked at, in percent.
const STEP: usize = 5;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for motor in motors(setup).into_iter().filter(|motor| !motor.reversible) {
        if motor.channel.lines.iter().all(|line| only_rises(setup, &line.value)) {
            continue;
        }
        let (Some(runs), Some(signals)) = (motor.runs(), setup.signals()) else { continue };
        let place = setup.in_model(motor.channel.header);
        let Some(stick) = signals.stick(Function::Throttle) else { continue };
        // A helicopter's curves are shaped on purpose, but not where it rests.
        let path = if setup.is(CraftKind::Helicopter) {
            Path::at(signals.start(&setup.demands(signals)))
        } else {
            match out.ask(signals, &Question::is(runs), place) {
                Some(Answer::Yes(witness)) => witness.path,
                _ => continue,
            }
        };
        let at = |percent: i64| {
            let mut path = path.clone();
            path.movements
                .push(Movement { sets: vec![(Handle::Control(stick), Setting::Percent(whole(percent)))], held: 0 });
            let pulse = signals.program().read(&path, motor.number())?.received.as_ref().map(float)?;
            Some((percent, pulse, path))
        };
        let pulses: Vec<_> = (-100..=100).step_by(STEP).filter_map(at).collect();
        let falls = pulses.windows(2).find(|pair| pair[1].1 < pair[0].1 - 0.5);
        let rises = pulses.windows(2).any(|pair| pair[1].1 > pair[0].1 + 0.5);
        let (Some([before, after]), true) = (falls, rises) else { continue };
        let message = format!(
            "Channel {} falls from {} to {} while the throttle stick rises from {} % to {} %.",
            motor.number(),
            us(before.1),
            us(after.1),
            before.0,
            after.0
        );
        out.find(place, message).shown_by(signals.witness(&after.2));
    }
}

/// Whether a value can only rise with the throttle stick, by its form: the stick itself, rising curves, positive
/// factors and constants.
fn only_rises(setup: &Setup<'_>, value: &Value) -> bool {
    match &value.kind {
        ValueKind::Percent(_) | ValueKind::Control(_) | ValueKind::Unshaped(_) => true,
        ValueKind::Channel(_) | ValueKind::Subtract(..) | ValueKind::Negate(_) => constant(value).is_some(),
        ValueKind::Curve(name, of) => {
            let curve = setup.model.curve(&name.value);
            curve.is_some_and(|curve| curve.points.windows(2).all(|pair| pair[0].1 <= pair[1].1))
                && only_rises(setup, of)
        }
        ValueKind::Min(a, b) | ValueKind::Max(a, b) | ValueKind::Add(a, b) => {
            only_rises(setup, a) && only_rises(setup, b)
        }
        ValueKind::Multiply(a, b) => {
            let positive = |value: &Value| constant(value).is_some_and(|percent| percent.mantissa() >= 0);
            positive(a) && only_rises(setup, b) || positive(b) && only_rises(setup, a)
        }
    }
}
