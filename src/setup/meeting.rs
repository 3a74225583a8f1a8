//! Models that meet on one receiver number.

use super::bay::{Bay, bays, handset_of};
use super::context::Context;
use super::numbers::{is_matched, locked};
use crate::fleet::condition::Name;
use crate::fleet::craft::{Craft, Receiver};
use crate::fleet::equipment::Link;
use crate::fleet::model::Model;
use crate::source::{Located, Span};
use rustc_hash::{FxHashMap, FxHashSet};

/// A model with a bay that has match on and a number, on a link that is defined.
#[derive(Clone, Copy, Debug)]
pub struct Numbered<'f> {
    /// The model.
    pub model: &'f Model,
    /// The bay.
    pub bay: Bay<'f>,
    /// Its link.
    pub link: &'f Link,
    /// The number.
    pub number: Located<u16>,
}

impl<'f> Numbered<'f> {
    /// The receivers of the model's aircraft that are locked to its number on its link.
    pub fn locked(&self, context: &Context<'f>) -> impl Iterator<Item = (&'f Craft, Span)> {
        let number = self.number.value;
        self.receivers(context).filter_map(move |(craft, receiver)| {
            let own = locked(receiver).filter(|own| own.value == number)?;
            Some((craft, own.span))
        })
    }

    /// The number of all receivers of the model's aircraft on its link, where they are locked to another than the model's: under this
    /// model none of them connects.
    pub fn locked_elsewhere(&self, context: &Context<'f>) -> Option<u16> {
        let mut numbers = self.receivers(context).map(|(_, receiver)| Some(locked(receiver)?.value));
        let first = numbers.next().flatten().filter(|first| *first != self.number.value)?;
        numbers.all(|number| number == Some(first)).then_some(first)
    }

    /// The receivers of the model's aircraft that may be on its link.
    fn receivers(&self, context: &Context<'f>) -> impl Iterator<Item = (&'f Craft, &'f Receiver)> {
        let (fleet, link) = (context.fleet, self.link);
        let crafts = self.model.flies.iter().filter_map(move |name| fleet.craft(&name.value));
        let receivers = crafts.flat_map(|craft| craft.receivers.iter().map(move |receiver| (craft, receiver)));
        receivers
            .filter(move |(_, receiver)| receiver.link.as_ref().is_none_or(|own| own.value == link.head.name.value))
    }

    fn key(&self) -> Option<&'f str> {
        self.bay.module.key.as_ref().map(|key| key.value.as_str())
    }
}

/// Every bay of a model that has match on and a number.
pub fn numbered<'f>(context: &Context<'f>, model: &'f Model) -> impl Iterator<Item = Numbered<'f>> {
    let fleet = context.fleet;
    let matched = bays(fleet, model, handset_of(fleet, model)).filter(|bay| is_matched(bay.module));
    matched.filter_map(move |bay| Some(Numbered { model, bay, link: bay.link?, number: bay.module.receiver_number? }))
}

/// Two models that one receiver answers, though each flies an aircraft that the other does not: the earlier one first. By link,
/// then by number; each later model stands there once, with the first that it clashes with.
pub fn clashes<'f>(context: &Context<'f>, models: &[&'f Model]) -> Vec<(Numbered<'f>, Numbered<'f>)> {
    let mut groups: FxHashMap<(&str, u16), Vec<Numbered<'f>>> = FxHashMap::default();
    let flying = models.iter().filter(|model| !model.flies.is_empty());
    for numbered in flying.flat_map(|model| numbered(context, model)) {
        groups.entry((&numbered.link.head.name.value, numbered.number.value)).or_default().push(numbered);
    }
    let mut groups: Vec<_> = groups.into_iter().filter(|(_, group)| group.len() > 1).collect();
    groups.sort_by_key(|(key, _)| *key);
    groups.iter().flat_map(|(_, group)| clashes_of(group)).collect()
}

/// The clashes among models of one link and number. Of models with one key that fly the same aircraft only the first is held
/// against later ones, so that many models of one aircraft are not each compared with each.
fn clashes_of<'f>(group: &[Numbered<'f>]) -> Vec<(Numbered<'f>, Numbered<'f>)> {
    // In most groups each key stands for one aircraft.
    let mut known: FxHashMap<&str, &[Name]> = FxHashMap::default();
    let is_same =
        |one: &[Name], other: &[Name]| one.iter().map(|name| &name.value).eq(other.iter().map(|name| &name.value));
    let mut is_known = |key, flies| is_same(known.entry(key).or_insert(flies), flies);
    if group.iter().all(|here| here.key().is_some_and(|key| is_known(key, &here.model.flies))) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut seen: FxHashSet<(Option<&str>, Vec<&str>)> = FxHashSet::default();
    // The first models, with the names of their aircraft in order: of all keys, and by key.
    let mut all: Vec<(usize, Vec<&str>)> = Vec::new();
    let mut by_key: FxHashMap<Option<&str>, Vec<(usize, Vec<&str>)>> = FxHashMap::default();
    for (at, later) in group.iter().enumerate() {
        let mut flies: Vec<&str> = later.model.flies.iter().map(|name| name.value.as_str()).collect();
        flies.sort_unstable();
        let key = later.key();
        // A model of another key is no neighbour; one without a stated key may be.
        let lists = match key {
            Some(_) => [by_key.get(&key), by_key.get(&None)],
            None => [Some(&all), None],
        };
        let first = lists.into_iter().flatten().filter_map(|list| {
            list.iter().find(|(_, known)| lacks(known, &flies) && lacks(&flies, known)).map(|(first, _)| *first)
        });
        found.extend(first.min().and_then(|first| Some((*group.get(first)?, *later))));
        if seen.insert((key, flies.clone())) {
            by_key.entry(key).or_default().push((at, flies.clone()));
            all.push((at, flies));
        }
    }
    found
}

/// Whether some name is not among others; those are in order.
fn lacks(names: &[&str], others: &[&str]) -> bool {
    names.iter().any(|name| others.binary_search(name).is_err())
}
