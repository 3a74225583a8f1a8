//! Receiver numbers over all handsets.

use crate::fleet::Fleet;
use crate::fleet::craft::{Craft, Receiver, ReceiverNumber};
use crate::fleet::equipment::Link;
use crate::fleet::model::{Model, ModelModule};
use crate::source::Located;
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
    craft.receivers.iter().filter_map(locked).map(|number| number.value)
}

/// The number that a receiver is locked to.
pub fn locked(receiver: &Receiver) -> Option<Located<u16>> {
    match receiver.number? {
        Located { value: ReceiverNumber::Locked(number), span } => Some(Located::new(number, span)),
        Located { value: ReceiverNumber::Any, .. } => None,
    }
}

/// Whether some receiver of a model's aircraft is locked to a number on a link.
pub fn is_answered(fleet: &Fleet, model: &Model, link: &Link, number: u16) -> bool {
    let crafts = model.flies.iter().filter_map(|name| fleet.craft(&name.value));
    let hears = |receiver: &&Receiver| receiver.link.as_ref().is_some_and(|own| own.value == link.head.name.value);
    let mut heard = crafts.flat_map(|craft| &craft.receivers).filter(hears);
    heard.any(|receiver| locked(receiver).is_some_and(|own| own.value == number))
}

/// Whether a bay has match on.
pub fn is_matched(module: &ModelModule) -> bool {
    module.matching.is_some_and(|matching| matching.value)
}
