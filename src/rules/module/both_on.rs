//! `module/both-on`: both bays transmit at once.

use super::turn_off;
use crate::findings::fact::{Joined, name, names};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let on: Vec<_> = setup.bays.iter().map(|bay| bay.module).collect();
    // The bay that the aircraft can't hear is the one too many.
    let Some(odd) = setup.bays.iter().find(|bay| !setup.hears(bay)).map(|bay| bay.module) else { return };
    let others: Vec<_> = on.iter().filter(|module| module.bay.value != odd.bay.value).collect();
    // What the aircraft hears stays on; where it hears none of them, each could be the one.
    let hears_none = !setup.bays.iter().any(|bay| setup.hears(bay));
    let too_many = setup.bays.iter().filter(|bay| hears_none || !setup.hears(bay));
    let choices = too_many.filter_map(|bay| turn_off(setup.model, bay.module)).collect();
    let facts = [
        names("bays", Joined::And, on.iter().map(|module| module.bay.value.clone())),
        name("odd", odd.bay.value.clone()),
    ];
    let sentence = "The module bays {bays} are on at the same time, and the aircraft has no receiver for {odd}.";
    let finding = out.find(setup.in_model(odd.header), "both-on", sentence, facts);
    finding.mend_choices("Leave one module on: the one whose link the aircraft has.", choices);
    for module in others {
        finding.other(setup.in_model(module.header), "this bay is on too");
    }
}
