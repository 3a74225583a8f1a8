//! `failsafe/restarts`: motors can start again by themselves when the link comes back.

use crate::fleet::craft::{Arm, Craft};
use crate::rules::out::Out;
use crate::setup::Context;

pub(in crate::rules) fn check(_: &Context<'_>, craft: &Craft, out: &mut Out<'_>) {
    let Some(controller) = &craft.controller else { return };
    // A list of needs is taken to be the whole list; without one nothing is known.
    let Some(arm) = controller.arm.filter(|arm| arm.value == (Arm::Switch { low_throttle: true, seen_off: false }))
    else {
        return;
    };
    let sentence = "When the link comes back with the arming switch still on, the controller can arm again at once: \"seen-off\" is not among its needs.";
    let finding = out.find(craft.head.place(arm.span), "at once", sentence, []);
    if let Some(mode) = controller.arm_mode() {
        finding.other(craft.head.place(mode.span), "what asks to arm");
    }
}
