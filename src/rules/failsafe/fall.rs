//! `failsafe/fall`: at a lost link the motors stop in the air.

use crate::findings::fact::{Unit, amount};
use crate::fleet::craft::Craft;
use crate::fleet::words::LossAction;
use crate::rules::out::Out;
use crate::setup::Context;
use crate::setup::failsafe::{glides, is_light};

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    let Some(loss) = controller.on_loss.filter(|loss| loss.action == LossAction::MotorsOff) else { return };
    if controller.fall_accepted.is_some() || is_light(craft) {
        return;
    }
    let after = loss.delay.map(|delay| amount("after", delay.value, Unit::S));
    let (key, sentence) = match (glides(craft), &after) {
        (true, None) => (
            "glides",
            "When the link is lost the motor stops, and the aircraft comes down without power wherever it points.",
        ),
        (true, Some(_)) => (
            "glides",
            "When the link is lost the motor stops after {after}, and the aircraft comes down without power wherever it points.",
        ),
        (false, None) => ("falls", "When the link is lost the motors stop, and the aircraft falls from where it is."),
        (false, Some(_)) => {
            ("falls", "When the link is lost the motors stop after {after}, and the aircraft falls from where it is.")
        }
    };
    out.find(craft.head.place(loss.span), key, sentence, after);
}
