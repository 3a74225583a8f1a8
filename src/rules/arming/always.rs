//! `arming/always`: nothing the pilot does ends the request to arm.

use super::arming;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::signal::Question;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    if out.decide(arming.signals, &Question::is(arming.quiet.clone()), arming.place) == Some(false) {
        let channels: Vec<String> = setup.arm_channels().iter().map(u8::to_string).collect();
        let message =
            format!("Channel {} asks to arm in every position of every control.", channels.join(" and channel "));
        out.find(arming.place, message).reaches("every reachable state asks to arm");
    }
}
