//! `receiver/duplicate-number`: two models with match on have one number and fly different aircraft.

use super::{renumber, would};
use crate::findings::fact::{name, number};
use crate::findings::{Choice, Severity};
use crate::fleet::craft::Craft;
use crate::fleet::model::Model;
use crate::rules::out::{Out, choice, replace};
use crate::setup::strange::would_do;
use crate::setup::{Context, FreeNumbers, Numbered, Wrong, clashes, numbered};
use rustc_hash::{FxBuildHasher, FxHashSet};
use std::hash::BuildHasher;

/// Under how many pairs of a model and an aircraft of the other's is looked: where there are more, the others are left open.
const MOST_LOOKED_AT: usize = 16;

pub(in crate::rules) fn shared(context: &Context<'_>, model: &Model) -> Vec<u64> {
    let numbered = numbered(context, model);
    numbered.map(|here| FxBuildHasher.hash_one((&here.link.head.name.value, here.number.value))).collect()
}

pub(in crate::rules) fn check(context: &Context<'_>, models: &[&Model], out: &mut Out<'_>) {
    let mut free = FreeNumbers::default();
    for (first, second) in clashes(context, models) {
        // A model that does not reach its own aircraft has the wrong number, whichever of them comes first.
        let (kept, wrong, own) = match (first.locked_elsewhere(context), second.locked_elsewhere(context)) {
            // Neither reaches an aircraft.
            (Some(_), Some(_)) => continue,
            (Some(own), None) => (&second, &first, Some(own)),
            (None, own) => (&first, &second, own),
        };
        let free = if own.is_some() { Vec::new() } else { free.offer(context, wrong.link) };
        clash(context, kept, wrong, own, &free, out);
    }
}

/// Tells that two models clash; `own` is the number of the receivers of the second, where they do not answer it.
fn clash(
    context: &Context<'_>,
    first: &Numbered<'_>,
    second: &Numbered<'_>,
    own: Option<u16>,
    free: &[u16],
    out: &mut Out<'_>,
) {
    let place = second.model.head.place(second.number.span);
    let reached = strange(context, second.model, first.model);
    let strange = reached.chain(strange(context, first.model, second.model).filter(|_| own.is_none()));
    let (mut worst, mut open, mut looked_at) = (None, Vec::new(), 0);
    for (model, own, craft) in strange {
        looked_at += 1;
        match (looked_at <= MOST_LOOKED_AT).then(|| would_do(context, model, own, craft)) {
            Some(wrong) if wrong.is_dangerous() => {
                worst = Some((wrong, model, craft));
                break;
            }
            Some(Wrong::Open) => open.push(craft.head.name.value.clone()),
            Some(_) => {}
            None => {
                open.push(craft.head.name.value.clone());
                break;
            }
        }
    }
    let facts = [
        name("first", first.model.head.name.value.clone()),
        name("second", second.model.head.name.value.clone()),
        number("number", second.number.value),
    ];
    let sentence = match own {
        Some(_) => {
            "Models {first} and {second} both have number {number} with match on: the aircraft of {first} answers both, and that of {second} neither, since its receiver has another number."
        }
        None => {
            "Models {first} and {second} both have number {number} with match on, and fly different aircraft: each aircraft answers both."
        }
    };
    let flown = first.model.flies.iter().chain(&second.model.flies).map(|name| name.value.clone());
    let finding = out.find(place, "same number", sentence, facts);
    finding.severity(if worst.is_some() { Severity::Danger } else { Severity::Caution });
    finding.other(first.model.head.place(first.number.span), "the same number").about(flown);
    match own {
        Some(own) => {
            let name = &second.model.head.name.value;
            let label = format!("give \"{name}\" the number {own} of its receiver");
            let edit = replace(&second.model.head, second.number.span, own.to_string());
            finding.mend_choices("Give the model the number of its own receiver.", vec![choice(label, vec![edit])]);
        }
        None => {
            let words = "Give one of the two models, and its receivers, another number.";
            finding.mend_choices(words, mends(context, second, free));
        }
    }
    match &worst {
        Some((wrong, model, craft)) => {
            if let Some((case, part, mut facts)) = would(wrong) {
                facts.push(name("under", model.head.name.value.clone()));
                facts.push(name("aircraft", craft.head.name.value.clone()));
                finding.also(case, &["Under {under} ", part, " of {aircraft}."].concat(), facts);
            }
            if let Some(witness) = wrong.witness() {
                finding.shown_by(witness.clone());
            }
        }
        None => open.into_iter().for_each(|aircraft| {
            out.not_decided_about(
                place,
                "what the other model would do with the aircraft is not clear",
                vec![aircraft],
            );
        }),
    }
}

/// The aircraft of a model that a strange one does not fly, with both models.
fn strange<'f>(
    context: &Context<'f>,
    strange: &'f Model,
    own: &'f Model,
) -> impl Iterator<Item = (&'f Model, &'f Model, &'f Craft)> {
    let (fleet, known) =
        (context.fleet, strange.flies.iter().map(|name| name.value.as_str()).collect::<FxHashSet<_>>());
    let crafts = own.flies.iter().filter(move |name| !known.contains(name.value.as_str()));
    crafts.filter_map(move |name| Some((strange, own, fleet.craft(&name.value)?)))
}

/// The free numbers for the second model and the receivers that are locked to the old one.
fn mends<'f>(context: &Context<'f>, second: &Numbered<'f>, free: &[u16]) -> Vec<Choice> {
    let name = &second.model.head.name.value;
    let one = |free: &u16| {
        let label = format!("give \"{name}\" and its receivers the number {free}, here and in the receivers");
        choice(label, renumber(context, second, *free))
    };
    free.iter().map(one).collect()
}
