//! What a description leaves out, so that rules had nothing to look at: a verdict of "nothing found" must not hide it.

use crate::setup::{ModelSetup, Setup};
use compact_str::CompactString;

/// For each aircraft of a model, what is not stated of it, of the model's bay or of the link, in words; aircraft of which
/// everything is stated are left out.
pub fn of(view: &ModelSetup<'_>) -> Vec<(CompactString, Vec<&'static str>)> {
    if view.model.simulator.is_some() {
        return Vec::new();
    }
    let all = view.setups.iter().map(|setup| (setup.craft.head.name.value.clone(), pair_of(setup)));
    all.filter(|(_, words)| !words.is_empty()).collect()
}

fn pair_of(setup: &Setup<'_>) -> Vec<&'static str> {
    let mut words = Vec::new();
    let mut need = |stated: bool, word: &'static str| {
        if !stated {
            words.push(word);
        }
    };
    if let Some(bay) = setup.bay {
        need(
            bay.module.receiver_number.is_some() || bay.module.matching.is_some_and(|it| !it.value),
            "receiver-number",
        );
        need(bay.module.matching.is_some(), "match");
        need(bay.module.update_rate.is_some(), "update-rate");
        need(bay.module.telemetry.is_some(), "telemetry");
        need(bay.module.power.is_some(), "power");
        let one_chain = bay.hardware.is_none_or(|hardware| hardware.chains.is_none_or(|chains| chains.value == 1));
        need(bay.module.send_on.is_some() || one_chain, "send-on");
    }
    if let Some(receiver) = setup.receiver {
        need(receiver.number.is_some(), "the receiver's number");
    }
    need(setup.receiver.is_some(), "a receiver");
    if let Some(link) = setup.link {
        need(link.band.is_some(), "the link's band");
        need(!link.sensitivities.is_empty(), "the link's sensitivity");
        need(link.number_check.is_some(), "the link's number-check");
    }
    need(setup.site.is_some_and(|site| site.region.is_some()), "the region where it is flown");
    need(setup.site.is_some_and(|site| site.reach.is_some()), "the reach");
    if let Some(controller) = &setup.craft.controller {
        need(controller.order.is_some(), "the controller's order");
        need(controller.idle_below.is_some(), "idle-below");
        need(controller.valid.is_some(), "valid");
    }
    need(setup.craft.controller.is_some() || setup.craft.surfaces.is_some(), "a controller or surfaces");
    words
}
