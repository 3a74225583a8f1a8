//! `receiver/first-number`: the lowest number is in use on more than one handset.

use super::renumber;
use crate::findings::fact::{name, number};
use crate::fleet::model::Model;
use crate::rules::out::{Out, choice};
use crate::setup::{Context, FreeNumbers, Numbered, numbered};
use crate::source::Place;
use rustc_hash::{FxBuildHasher, FxHashMap};
use std::hash::BuildHasher;

pub(in crate::rules) fn shared(context: &Context<'_>, model: &Model) -> Vec<u64> {
    let lowest = numbered(context, model).filter(is_lowest);
    lowest.map(|here| FxBuildHasher.hash_one(&here.link.head.name.value)).collect()
}

fn is_lowest(here: &Numbered<'_>) -> bool {
    here.link.receiver_numbers.is_some_and(|range| range.value.0 == here.number.value)
}

pub(in crate::rules) fn check(context: &Context<'_>, models: &[&Model], out: &mut Out<'_>) {
    let mut first: FxHashMap<&str, (&str, Place)> = FxHashMap::default();
    let mut free = FreeNumbers::default();
    for here in models.iter().flat_map(|model| numbered(context, model)).filter(is_lowest) {
        let (model, link) = (here.model, here.link);
        let Some(handset) = &model.handset else { continue };
        let place = model.head.place(here.number.span);
        let (known, other) = *first.entry(&link.head.name.value).or_insert((&handset.value, place));
        if known == handset.value.as_str() {
            continue;
        }
        let facts = [
            number("number", here.number.value),
            name("link", link.head.name.value.clone()),
            name("known", known),
            name("handset", handset.value.clone()),
        ];
        let sentence = "Number {number}, the lowest of link {link}, is matched on handset {known} and on handset {handset}: most pilots begin with it.";
        let offered = free.offer(context, link);
        let choices = offered.iter().map(|free| {
            let label =
                format!("give this model the number {free}, and lock its receiver to it, here and in the receiver");
            choice(label, renumber(context, &here, *free))
        });
        out.find(place, "lowest", sentence, facts)
            .other(other, "the other handset's")
            .about(model.flies.iter().map(|name| name.value.clone()))
            .mend_choices("Begin the numbers of each handset elsewhere.", choices.collect());
    }
}
