//! `throttle/cut-fails`: a line that is meant to cut the motor does not.

use super::motors;
use crate::rules::out::{Out, replace};
use crate::rules::wording::us;
use crate::setup::Setup;
use crate::signal::{Answer, Question};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for motor in motors(setup).into_iter().filter(|motor| !motor.reversible) {
        let Some(idle) = motor.idle else { continue };
        for (at, line, percent) in motor.failing_cuts(setup) {
            let Some(pulse) = motor.pulse(setup, percent) else { continue };
            // A line that no state makes the one in force cuts nothing and harms nothing: `channels/dead-line` tells of it.
            let Some(signals) = setup.signals() else { continue };
            let Some(in_force) = motor.line(signals, at) else { continue };
            let asked = out.ask(signals, &Question::is(in_force), setup.in_model(line.span));
            let Some(Answer::Yes(witness)) = asked else { continue };
            let text = if motor.channel.reversed.is_some() { "100 %" } else { "-100 %" };
            let message = format!(
                "This line sends {} on channel {} and cuts nothing: idle is below {idle} us.",
                us(pulse),
                motor.channel.number.value
            );
            out.find(setup.in_model(line.span), message)
                .shown_by(signals.witness(&witness.path))
                .other(motor.place, "what counts as idle")
                .mend_sure(format!("cut with {text}"), vec![replace(&setup.model.head, line.value.span, text)]);
        }
    }
}
