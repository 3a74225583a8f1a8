//! `failsafe/incomplete`: a preset leaves out a channel that the aircraft uses.

use super::presets;
use crate::findings::fact::{FactValue, Joined, channels, list};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for (_, plan) in presets(setup).filter(|(_, plan)| !plan.is_partly_lost()) {
        let missing: Vec<_> = setup.used().filter(|(channel, ..)| plan.pulse(*channel).is_none()).collect();
        if missing.is_empty() {
            continue;
        }
        let words = missing.iter().map(|(channel, what, _)| format!("channel {channel} ({what})"));
        let facts = [
            channels("channels", missing.iter().map(|(channel, ..)| *channel)),
            list("missing", Joined::And, words.map(|words| FactValue::Text(words.into()))),
        ];
        let sentence = "The preset leaves out {missing}: what comes there when the link is lost is up to the receiver.";
        out.find(plan.place(), "leaves out", sentence, facts);
    }
}
