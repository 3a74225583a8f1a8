//! `arming/not-stated`: how a multirotor is armed is not said.

use crate::fleet::craft::{Arm, Craft};
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    let by_sticks = controller.arm.is_some_and(|arm| arm.value == Arm::Sticks);
    if controller.arm_mode().is_none() && !by_sticks {
        let sentence = "The flight controller states neither a mode called arm nor arming by sticks.";
        out.find(craft.head.place(controller.header), "neither", sentence, []);
    }
}
