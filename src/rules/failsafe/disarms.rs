//! `failsafe/disarms`: the stored failsafe stops the motors while the controller would come down or fly back.

use super::{FROZEN, action, once_all_have, presets, stop_outputs};
use crate::findings::Severity;
use crate::findings::fact::{channel, us, word};
use crate::fleet::words::LossAction;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(controller) = &setup.craft.controller else { return };
    let (Some(mode), Some(loss)) = (controller.arm_mode(), controller.on_loss) else { return };
    if !matches!(loss.action, LossAction::Descend | LossAction::Circle | LossAction::FlyBack) {
        return;
    }
    let mut give_up = "on-loss motors-off".to_owned();
    if let Some(delay) = loss.delay {
        give_up += &format!(" after {} s", delay.value);
    }
    for (at, plan) in presets(setup) {
        let Some(stored) = plan.keeps_off(mode) else { continue };
        // A controller that is told of the loss may well ignore the channels from then on.
        let told = at.flags_loss() == Some(true);
        let sentence = "When the link is lost the controller is to {plan}, but the stored pulse of channel {channel} is {stored} and stops asking to arm: the motors stop in the air.";
        let facts =
            [word("plan", action(loss.action)), channel(stored.channel.value), us("stored", stored.pulse.value)];
        let choices = vec![
            stop_outputs(&plan),
            choice(
                "let the motors stop at a loss, which is a fall",
                vec![replace(&setup.craft.head, loss.span, give_up.clone())],
            ),
        ];
        let finding = out.find(plan.place(), "stops asking", sentence, facts);
        if told {
            let sentence = "The receiver flags the loss: that is so unless your controller ignores the channels then.";
            finding.also("flagged", sentence, []);
        }
        once_all_have(setup, at, finding);
        finding
            .severity(if told { Severity::Caution } else { Severity::Danger })
            .other(setup.in_craft(loss.span), "what the controller is to do")
            .other(setup.in_craft(mode.span), "what asks to arm")
            .mend_choices(format!("Choose one plan: the controller's, or the stored pulses. {FROZEN}"), choices);
    }
}
