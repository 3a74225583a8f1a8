//! `alarms/receiver-battery`: nothing says when the receiver's own battery will be empty.

use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::alarms::unwatched;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(battery) = unwatched(setup) else { return };
    let sentence =
        "The receiver has a battery of its own, and the model has neither an alarm nor a timer that concerns it.";
    out.find(setup.in_model(setup.model.head.header), "unwatched", sentence, [])
        .other(setup.in_craft(battery.header), "the receiver's battery");
}
