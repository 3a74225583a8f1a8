//! `arming/always`: nothing the pilot does ends the request to arm.

use super::Arming;
use crate::rules::out::Out;
use crate::rules::subject::Pair;
use crate::signal::Question;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some(arming) = Arming::of(pair) else { return };
    if out.decide(arming.signals, &Question::is(arming.quiet.clone()), arming.place) == Some(false) {
        let channels: Vec<String> = pair.arm_channels().iter().map(u8::to_string).collect();
        let message =
            format!("Channel {} asks to arm in every position of every control.", channels.join(" and channel "));
        out.find(arming.place, message).reaches("every reachable state asks to arm");
    }
}
