//! `module/wrong-link`: the bay that is on speaks a link that the aircraft has no receiver for.

use super::{hears, swap, would_serve_pair};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(handset) = setup.handset else { return };
    let known =
        setup.craft.receivers.iter().all(|receiver| receiver.link.is_some()) && !setup.craft.receivers.is_empty();
    let head = &setup.craft.head;
    let lost = head.lost_here(&["receiver"])
        || setup.craft.receivers.iter().any(|receiver| head.lost_within(receiver.body.whole, &["link"]));
    let Some(bay) = setup.bay.filter(|_| known && !lost) else { return };
    let Some((hardware, link)) = bay.hardware.and_then(|hardware| Some((hardware, hardware.link.as_ref()?))) else {
        return;
    };
    if hears(setup.craft, hardware) {
        return;
    }
    let wanted: Vec<String> = setup
        .craft
        .receivers
        .iter()
        .filter_map(|receiver| receiver.link.as_ref())
        .map(|link| format!("\"{}\"", link.value))
        .collect();
    let other = would_serve_pair(setup);
    let serves = match other {
        Some(module) => format!("The bay \"{}\", which is off, has that link.", module.bay.value),
        None => "No other bay of the handset has that link.".to_owned(),
    };
    let message = format!(
        "The module bay \"{}\" speaks link \"{}\", and the aircraft listens to {}. {serves}",
        bay.module.bay.value,
        link.value,
        wanted.join(" and ")
    );
    let finding = out.find_text(setup.in_model(bay.module.header), message);
    finding.other(handset.head.place(link.span), "the link of what is in this bay");
    for receiver in setup.craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref()) {
        finding.other(setup.in_craft(receiver.span), "the link that the aircraft listens to");
    }
    let choices = other.map(|module| swap(setup.model, bay.module, module)).into_iter().collect();
    finding.mend_choices("Turn the module on whose link the aircraft has, or list another aircraft.", choices);
}
