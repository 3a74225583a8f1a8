//! `failsafe/incomplete`: a preset leaves out a channel that the aircraft uses.

use super::presets;
use crate::findings::fact::{FactValue, Joined, channels, list};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (at, plan) in presets(setup).filter(|(_, plan)| !plan.is_partly_lost()) {
        // What another receiver drives is stored there.
        let left_out = |channel: u8| at.drives(channel) && plan.pulse(channel).is_none();
        let missing: Vec<_> = setup.used().filter(|(channel, ..)| left_out(*channel)).collect();
        if missing.is_empty() {
            continue;
        }
        let words = missing.iter().map(|(channel, what, _)| format!("channel {channel} ({what})"));
        let facts = [
            channels("channels", missing.iter().map(|(channel, ..)| *channel)),
            list("missing", Joined::And, words.map(|words| FactValue::Text(words.into()))),
        ];
        let sentence = "The preset leaves out {missing}: what comes there when the link is lost is up to the receiver.";
        let is_motor = |channel: u8| setup.motor_channels().iter().any(|motor| motor.channel == channel);
        let found = out.find(plan.place(), "leaves out", sentence, facts);
        if missing.iter().any(|(channel, ..)| is_motor(*channel)) {
            found.case("motor").mend_words(
                "Add the missing channel to the preset, a motor with the pulse at which it stands still, in the description and in the receiver, and in the model where the preset stands there too.",
            );
        }
    }
}
