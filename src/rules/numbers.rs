//! Receiver numbers over all handsets.

use crate::fleet::Fleet;
use crate::fleet::craft::ReceiverNumber;
use crate::fleet::equipment::Link;

/// The receiver numbers of a link that no model and no receiver uses; a few of them, lowest first, but for the lowest of
/// the link: most pilots begin with it, so that it meets another handset's most easily.
pub fn free_numbers(fleet: &Fleet, link: &Link) -> Vec<u16> {
    let Some((low, high)) = link.receiver_numbers.map(|range| range.value) else { return Vec::new() };
    let models = fleet.models.iter().flat_map(|model| &model.modules).filter_map(|module| module.receiver_number);
    let mut used: Vec<u16> = models.map(|number| number.value).collect();
    let receivers = fleet.crafts.iter().flat_map(|craft| &craft.receivers).filter_map(|receiver| receiver.number);
    used.extend(receivers.filter_map(|number| match number.value {
        ReceiverNumber::Locked(number) => Some(number),
        ReceiverNumber::Any => None,
    }));
    let others = low.saturating_add(1)..=high;
    others.chain([low]).filter(|number| !used.contains(number)).take(4).collect()
}
