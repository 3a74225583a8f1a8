//! `throttle/cut-fails`: a line that is meant to cut the motor does not.

use super::motors;
use crate::rules::out::{Out, replace};
use crate::rules::signals::us;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    for motor in motors(pair).into_iter().filter(|motor| !motor.reversible) {
        let Some(idle) = motor.idle else { continue };
        for (_, line, percent) in motor.failing_cuts(pair) {
            let Some(pulse) = motor.pulse(pair, percent) else { continue };
            let text = if motor.channel.reversed.is_some() { "100 %" } else { "-100 %" };
            let message = format!(
                "This line sends {} on channel {} and cuts nothing: idle is below {idle} us.",
                us(pulse),
                motor.channel.number.value
            );
            out.find(pair.in_model(line.span), message)
                .other(motor.place, "what counts as idle")
                .mend_sure(format!("cut with {text}"), vec![replace(&pair.model.head, line.value.span, text)]);
        }
    }
}
