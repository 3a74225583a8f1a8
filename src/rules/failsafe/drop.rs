//! `failsafe/drop`: at a lost link the motors stop in the air.

use crate::fleet::craft::Craft;
use crate::fleet::words::{CraftKind, LossAction};
use crate::rules::out::Out;
use crate::setup::Context;

/// A multirotor lighter than this, in grams, is let off. Common practice, no source.
const LIGHT_G: f64 = 250.0;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    let Some(loss) = controller.on_loss.filter(|loss| loss.action == LossAction::MotorsOff) else { return };
    let kind = craft.kind.map(|kind| kind.value);
    let light = kind == Some(CraftKind::Multirotor) && craft.weight.is_some_and(|it| it.value.to_f64() < LIGHT_G);
    let on_ground = kind.is_some_and(CraftKind::stays_down);
    if controller.drop_accepted.is_some()
        || light
        || on_ground
        || craft.head.lost_here(&["kind", "weight"])
        || craft.head.lost_within(controller.body.whole, &["drop-accepted"])
    {
        return;
    }
    let after = loss.delay.map_or(String::new(), |delay| format!(" after {} s", delay.value));
    let message = match kind {
        Some(CraftKind::Aeroplane | CraftKind::FlyingWing | CraftKind::Glider | CraftKind::Autogyro) => format!(
            "When the link is lost the motor stops{after}, and the aircraft comes down without power wherever it points."
        ),
        _ => format!("When the link is lost the motors stop{after}, and the aircraft falls from where it is."),
    };
    out.find_text(craft.head.place(loss.span), message);
}
