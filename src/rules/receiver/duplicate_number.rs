//! `receiver/duplicate-number`: two models with match on have one number and fly different aircraft.

use super::{Wrong, number_place, renumber, wrong};
use crate::findings::{Choice, Severity};
use crate::fleet::model::Model;
use crate::rules::out::{Out, choice};
use crate::setup::{Bay, Context, bays, handset_of};
use rustc_hash::FxHashMap;

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    let mut groups: FxHashMap<(&str, u16), Vec<(&Model, Bay<'_>)>> = FxHashMap::default();
    for model in &context.fleet.models {
        let matched = model.modules_on().any(|module| module.matching.is_some_and(|matching| matching.value));
        if !matched || model.flies.is_empty() {
            continue;
        }
        for bay in bays(context.fleet, model, handset_of(context.fleet, model)) {
            let matching = bay.module.matching.is_some_and(|matching| matching.value);
            if let (Some(link), Some(number), true) = (bay.link, bay.module.receiver_number, matching) {
                groups.entry((&link.head.name.value, number.value)).or_default().push((model, bay));
            }
        }
    }
    let mut groups: Vec<_> = groups.into_iter().filter(|(_, group)| group.len() > 1).collect();
    groups.sort_by_key(|(key, _)| *key);
    for ((_, number), group) in groups {
        for (at, (model, bay)) in group.iter().enumerate().skip(1) {
            // The first model of another key is no neighbour; one without a stated key may be.
            let clash = group.iter().take(at).find(|(other, with)| {
                let keys = with.module.key.as_ref().zip(bay.module.key.as_ref());
                keys.is_none_or(|(one, other)| one.value == other.value) && different(other, model)
            });
            if let Some((first, with)) = clash {
                clashes(context, number, (first, with), (model, bay), out);
            }
        }
    }
}

/// Whether each flies an aircraft that the other does not.
fn different(one: &Model, other: &Model) -> bool {
    let lacks =
        |a: &Model, b: &Model| a.flies.iter().any(|name| !b.flies.iter().any(|known| known.value == name.value));
    lacks(one, other) && lacks(other, one)
}

fn clashes(
    context: &Context<'_>,
    number: u16,
    first: (&Model, &Bay<'_>),
    second: (&Model, &Bay<'_>),
    out: &mut Out<'_>,
) {
    let (model, bay) = second;
    let place = model.head.place(number_place(bay));
    let name = &first.0.head.name.value;
    let mut what = None;
    for (strange, own) in [(first.0, model), (model, first.0)] {
        for craft in own.flies.iter().filter_map(|craft| context.fleet.craft(&craft.value)) {
            match wrong(context, strange, own, craft) {
                Wrong::Dangerous(words, witness) => what = what.or(Some((words, craft, witness, strange))),
                Wrong::Open => {
                    let why = "what the other model would do with the aircraft is not clear";
                    out.not_decided_about(place, why, vec![craft.head.name.value.clone()]);
                }
                Wrong::Different(_) | Wrong::Alike => {}
            }
        }
    }
    let mut message = format!(
        "Models \"{name}\" and \"{}\" both have number {number} with match on, and fly different aircraft: each aircraft answers both.",
        model.head.name.value
    );
    if let Some((words, craft, _, strange)) = &what {
        message += &format!(" Under \"{}\" {words} of \"{}\".", strange.head.name.value, craft.head.name.value);
    }
    let choices = mends(context, model, bay);
    let flown = first.0.flies.iter().chain(&model.flies).map(|name| name.value.clone());
    let finding = out.find_text(place, message);
    finding.severity(if what.is_some() { Severity::Danger } else { Severity::Caution });
    finding.other(first.0.head.place(number_place(first.1)), "the same number").about(flown);
    if let Some((_, _, Some(witness), _)) = what {
        finding.shown_by(witness);
    }
    finding.mend_choices("Give one of the two models, and its receivers, another number.", choices);
}

/// The free numbers for the second model and the receivers that are locked to the old one.
fn mends(context: &Context<'_>, model: &Model, bay: &Bay<'_>) -> Vec<Choice> {
    let (Some(link), Some(stated)) = (bay.link, bay.module.receiver_number) else { return Vec::new() };
    let free = context.free_numbers(link).into_iter();
    free.map(|free| {
        let edits = renumber(context, model, stated, free);
        choice(
            format!(
                "give \"{}\" and its receivers the number {free}, here and in the receivers",
                model.head.name.value
            ),
            edits,
        )
    })
    .collect()
}
