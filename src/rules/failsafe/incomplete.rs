//! `failsafe/incomplete`: a preset leaves out a channel that the aircraft uses.

use super::preset;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(plan) = preset(setup).filter(|plan| !plan.is_partly_lost()) else { return };
    let missing: Vec<String> = setup
        .used()
        .filter(|(channel, ..)| plan.pulse(*channel).is_none())
        .map(|(channel, what, _)| format!("channel {channel} ({what})"))
        .collect();
    if missing.is_empty() {
        return;
    }
    out.find_text(
        plan.place(),
        format!(
            "The preset leaves out {}: what comes there when the link is lost is up to the receiver.",
            missing.join(", ")
        ),
    );
}
