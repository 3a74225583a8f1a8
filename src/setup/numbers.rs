//! Receiver numbers over all handsets.

use super::context::Context;
use crate::fleet::Fleet;
use crate::fleet::craft::{Craft, Receiver, ReceiverNumber};
use crate::fleet::equipment::Link;
use crate::fleet::model::{Model, ModelModule};
use crate::source::{Located, Place};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::VecDeque;
use std::sync::OnceLock;

/// The numbers that some model or receiver uses, found when they are first asked for.
#[derive(Debug, Default)]
pub struct UsedNumbers {
    all: OnceLock<FxHashSet<u16>>,
    /// By aircraft and number: where the first two models stand that fly it with match on under that number.
    sent: OnceLock<FxHashMap<(CompactString, u16), Vec<Place>>>,
}

impl UsedNumbers {
    fn of(&self, fleet: &Fleet) -> &FxHashSet<u16> {
        self.all.get_or_init(|| {
            let models = fleet.models.iter().flat_map(numbers_of_model);
            models.chain(fleet.crafts.iter().flat_map(numbers_of_craft)).collect()
        })
    }

    /// The numbers of a link that nobody uses, the link's lowest last.
    pub(super) fn free<'u>(&'u self, fleet: &Fleet, link: &Link) -> impl Iterator<Item = u16> + use<'u> {
        let used = self.of(fleet);
        let range = link.receiver_numbers.map(|range| range.value);
        let all = range.into_iter().flat_map(|(low, high)| (low.saturating_add(1)..=high).chain([low]));
        all.filter(|number| !used.contains(number))
    }

    /// Whether another model flies an aircraft with match on under a number.
    pub(super) fn is_sent_by_another(&self, fleet: &Fleet, model: &Model, craft: &Craft, number: u16) -> bool {
        let sent = self.sent.get_or_init(|| {
            let mut sent: FxHashMap<(CompactString, u16), Vec<Place>> = FxHashMap::default();
            for model in &fleet.models {
                let matched = model.modules.iter().filter(|module| is_matched(module));
                let numbers = matched.filter_map(|module| Some(module.receiver_number?.value));
                for number in numbers.collect::<FxHashSet<u16>>() {
                    for name in &model.flies {
                        let models = sent.entry((name.value.clone(), number)).or_default();
                        if models.len() < 2 {
                            models.push(model.head.place(model.head.header));
                        }
                    }
                }
            }
            sent
        });
        let own = model.head.place(model.head.header);
        let models = sent.get(&(craft.head.name.value.clone(), number));
        models.is_some_and(|models| models.iter().any(|place| *place != own))
    }
}

/// Numbers that nobody uses, offered so that the first one that is offered to each model is no other's: whoever takes all of
/// them has no two alike.
#[derive(Debug, Default)]
pub struct FreeNumbers<'f> {
    by_link: FxHashMap<&'f str, VecDeque<u16>>,
}

impl<'f> FreeNumbers<'f> {
    /// So many are offered to one model.
    const OFFERED: usize = 4;

    /// A few numbers of a link, of which the first is offered first to nobody else.
    pub fn offer(&mut self, context: &Context<'f>, link: &'f Link) -> Vec<u16> {
        let left = self.by_link.entry(&link.head.name.value);
        let left = left.or_insert_with(|| context.free_numbers(link).collect());
        let offered = left.iter().take(Self::OFFERED).copied().collect();
        left.pop_front();
        offered
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
