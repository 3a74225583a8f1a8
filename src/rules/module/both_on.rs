//! `module/both-on`: both bays transmit at once.

use super::{hears, turn_off};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(handset) = setup.handset else { return };
    let on: Vec<_> = setup.model.modules_on().collect();
    let heard = |module: &crate::fleet::model::ModelModule| {
        handset.module(&module.bay.value).is_some_and(|hardware| hears(setup.craft, hardware))
    };
    if on.len() < 2 || on.iter().all(|module| heard(module)) {
        return;
    }
    // The bay that the aircraft can't hear is the one too many; without such a one, the last.
    let Some(odd) = on.iter().find(|module| !heard(module)).or(on.last()) else { return };
    let mut choices = Vec::new();
    choices.extend(turn_off(setup.model, odd));
    choices.extend(
        on.iter().filter(|module| module.bay.value != odd.bay.value).filter_map(|module| turn_off(setup.model, module)),
    );
    let names: Vec<String> = on.iter().map(|module| format!("\"{}\"", module.bay.value)).collect();
    let finding = out.find_text(
        setup.in_model(odd.header),
        format!(
            "The module bays {} are on at the same time, and the aircraft has no receiver for \"{}\".",
            names.join(" and "),
            odd.bay.value
        ),
    );
    finding.mend_choices("Leave one module on: the one whose link the aircraft has.", choices);
    for module in on.iter().filter(|module| module.bay.value != odd.bay.value) {
        finding.other(setup.in_model(module.header), "this bay is on too");
    }
}
