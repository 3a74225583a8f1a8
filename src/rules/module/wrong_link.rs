//! `module/wrong-link`: the bay that is on speaks a link that the aircraft has no receiver for.

use super::{hears, swap, would_serve_pair};
use crate::rules::out::Out;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some(handset) = pair.handset else { return };
    let known = pair.craft.receivers.iter().all(|receiver| receiver.link.is_some()) && !pair.craft.receivers.is_empty();
    let Some(bay) = pair.bay.filter(|_| known && !pair.craft.head.lost_any(&["receiver", "link"])) else { return };
    let Some((hardware, link)) = bay.hardware.and_then(|hardware| Some((hardware, hardware.link.as_ref()?))) else {
        return;
    };
    if hears(pair.craft, hardware) {
        return;
    }
    let wanted: Vec<String> = pair
        .craft
        .receivers
        .iter()
        .filter_map(|receiver| receiver.link.as_ref())
        .map(|link| format!("\"{}\"", link.value))
        .collect();
    let other = would_serve_pair(pair);
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
    let finding = out.find(pair.in_model(bay.module.header), message);
    finding.other(handset.head.place(link.span), "the link of what is in this bay");
    for receiver in pair.craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref()) {
        finding.other(pair.in_craft(receiver.span), "the link that the aircraft listens to");
    }
    let choices = other.map(|module| swap(pair.model, bay.module, module)).into_iter().collect();
    finding.mend_choices("Turn the module on whose link the aircraft has, or list another aircraft.", choices);
}
