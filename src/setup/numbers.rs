//! Receiver numbers over all handsets.

use crate::fleet::Fleet;
use crate::fleet::craft::{Craft, ReceiverNumber};
use crate::fleet::equipment::Link;
use crate::fleet::model::Model;
use rustc_hash::FxHashSet;
use std::sync::OnceLock;

/// The numbers that some model or receiver uses, found when they are first asked for.
#[derive(Debug, Default)]
pub struct UsedNumbers(OnceLock<FxHashSet<u16>>);

impl UsedNumbers {
    fn of(&self, fleet: &Fleet) -> &FxHashSet<u16> {
        self.0.get_or_init(|| {
            let models = fleet.models.iter().flat_map(numbers_of_model);
            models.chain(fleet.crafts.iter().flat_map(numbers_of_craft)).collect()
        })
    }

    /// The first four numbers of a link that nobody uses, the link's lowest last.
    pub(super) fn free(&self, fleet: &Fleet, link: &Link) -> Vec<u16> {
        let Some((low, high)) = link.receiver_numbers.map(|range| range.value) else { return Vec::new() };
        let used = self.of(fleet);
        let others = low.saturating_add(1)..=high;
        others.chain([low]).filter(|number| !used.contains(number)).take(4).collect()
    }
}

/// The numbers that a model has in its bays.
pub fn numbers_of_model(model: &Model) -> impl Iterator<Item = u16> + '_ {
    model.modules.iter().filter_map(|module| Some(module.receiver_number?.value))
}

/// The numbers that an aircraft's receivers are locked to.
pub fn numbers_of_craft(craft: &Craft) -> impl Iterator<Item = u16> + '_ {
    craft.receivers.iter().filter_map(|receiver| match receiver.number?.value {
        ReceiverNumber::Locked(number) => Some(number),
        ReceiverNumber::Any => None,
    })
}
