//! `arming/by-sticks-too`: one model flies aircraft that are armed by sticks and others that are armed by a switch.

use crate::fleet::craft::Arm;
use crate::rules::out::Out;
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let controllers = || view.setups.iter().filter_map(|setup| Some((setup.craft, setup.craft.controller.as_ref()?)));
    let by_switch = controllers().find(|(_, controller)| {
        controller.arm_mode().is_some() || matches!(controller.arm.map(|arm| arm.value), Some(Arm::Switch { .. }))
    });
    let Some((other, switched)) = by_switch else { return };
    for (craft, controller) in controllers() {
        let Some(arm) = controller.arm.filter(|arm| arm.value == Arm::Sticks) else { continue };
        let sentence = "This aircraft is armed by a position of the sticks, though the model that flies it also flies aircraft that are armed by a switch.";
        let place = switched.arm_mode().map_or(switched.header, |mode| mode.span);
        out.find(craft.head.place(arm.span), "both", sentence, [])
            .other(other.head.place(place), "armed by a switch")
            .about([craft.head.name.value.clone()]);
    }
}
