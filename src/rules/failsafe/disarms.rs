//! `failsafe/disarms`: the stored failsafe stops the motors while the controller would come down or fly back.

use super::{FROZEN, action, flags_loss, preset, stop_outputs};
use crate::findings::Severity;
use crate::fleet::words::LossAction;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some(plan), Some(controller)) = (preset(setup), &setup.craft.controller) else { return };
    let (Some(mode), Some(loss)) = (controller.arm_mode(), controller.on_loss) else { return };
    let needs_motors = matches!(loss.action, LossAction::Descend | LossAction::FlyBack);
    if !needs_motors || plan.turns_on(mode) != Some(false) {
        return;
    }
    let off = mode.tests.iter().find_map(|test| {
        let pulse = plan.pulse(test.channel.value)?.pulse.value;
        let (low, high) = test.range.value;
        (pulse < low || pulse > high).then_some((test.channel.value, pulse))
    });
    let Some((channel, pulse)) = off else { return };
    let mut message = format!(
        "When the link is lost the controller is to {}, but the stored pulse of channel {channel} is {pulse} us and stops asking to arm: the motors stop in the air.",
        action(loss.action)
    );
    // A controller that is told of the loss may well ignore the channels from then on.
    let told = flags_loss(setup) == Some(true);
    if told {
        message += " The receiver flags the loss: that is so unless your controller ignores the channels then.";
    }
    let mut give_up = "on-loss motors-off".to_owned();
    if let Some(delay) = loss.delay {
        give_up += &format!(" after {} s", delay.value);
    }
    let choices = vec![
        stop_outputs(&plan),
        choice("let the motors stop at a loss, which is a fall", vec![replace(&setup.craft.head, loss.span, give_up)]),
    ];
    out.find_text(plan.place(), message)
        .severity(if told { Severity::Caution } else { Severity::Danger })
        .other(setup.in_craft(loss.span), "what the controller is to do")
        .other(setup.in_craft(mode.span), "what asks to arm")
        .mend_choices(format!("Choose one plan: the controller's, or the stored pulses. {FROZEN}"), choices);
}
