//! `receiver/first-number`: the lowest number is in use on more than one handset.

use crate::rules::out::{Out, choice};
use crate::setup::{Context, bays, handset_of};
use rustc_hash::FxHashMap;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    let mut first: FxHashMap<&str, (&str, crate::source::Place)> = FxHashMap::default();
    for model in &context.fleet.models {
        let numbered = |module: &crate::fleet::model::ModelModule| {
            module.receiver_number.is_some() && module.matching.is_some_and(|matching| matching.value)
        };
        if !model.modules.iter().any(numbered) {
            continue;
        }
        let Some(handset) = &model.handset else { continue };
        for bay in bays(context.fleet, model, handset_of(context.fleet, model)).filter(|bay| numbered(bay.module)) {
            let (Some(link), Some(number)) = (bay.link, bay.module.receiver_number) else { continue };
            if link.receiver_numbers.is_none_or(|range| range.value.0 != number.value) {
                continue;
            }
            let place = model.head.place(number.span);
            let (known, other) = *first.entry(&link.head.name.value).or_insert((&handset.value, place));
            if known == handset.value.as_str() {
                continue;
            }
            let message = format!(
                "Number {}, the lowest of link \"{}\", is matched on handset \"{known}\" and on handset \"{}\": most pilots begin with it.",
                number.value, link.head.name.value, handset.value
            );
            let choices = context.free_numbers(link).into_iter().map(|free| {
                choice(
                    format!("give this model the number {free}, and lock its receiver to it, here and in the receiver"),
                    super::renumber(context, model, number, free),
                )
            });
            out.find_text(place, message)
                .other(other, "the other handset's")
                .about(model.flies.iter().map(|name| name.value.clone()))
                .mend_choices("Begin the numbers of each handset elsewhere.", choices.collect());
        }
    }
}
