//! `arming/always`: nothing the pilot does ends the request to arm.

use crate::findings::fact::channels;
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::Question;

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    if out.decide(signals, &Question::is(arming.quiet.clone()), arming.place) == Some(false) {
        let sentence = "Channel {channels} asks to arm in every position of every control.";
        out.find(arming.place, "always", sentence, [channels("channels", setup.arm_channels())])
            .reaches("every state that can occur asks to arm");
    }
}
