//! `handset/stick-modes-differ`: one aircraft is flown from handsets whose sticks have other functions.

use crate::findings::fact::{name, number};
use crate::fleet::equipment::Handset;
use crate::fleet::words::Grip;
use crate::rules::out::Out;
use crate::setup::{Context, handset_of};
use rustc_hash::{FxHashMap, FxHashSet};

pub(in crate::rules) fn check(context: &Context<'_>, out: &mut Out<'_>) {
    let mut first: FxHashMap<&str, &Handset> = FxHashMap::default();
    let mut told = FxHashSet::default();
    for model in &context.fleet.models {
        let handset = handset_of(context.fleet, model).filter(|handset| handset.grip() == Grip::Sticks);
        let Some((handset, mode)) = handset.and_then(|handset| Some((handset, handset.stick_mode?))) else { continue };
        for craft in &model.flies {
            let known = *first.entry(craft.value.as_str()).or_insert(handset);
            let Some(other) = known.stick_mode.filter(|other| other.value != mode.value) else { continue };
            if !told.insert((&known.head.name.value, &handset.head.name.value)) {
                continue;
            }
            let facts = [
                name("craft", craft.value.clone()),
                name("first", known.head.name.value.clone()),
                number("first_mode", i64::from(other.value)),
                number("mode", i64::from(mode.value)),
            ];
            let sentence = "This handset has stick mode {mode} and {first}, from which {craft} is flown too, has {first_mode}: the same movement of a hand does something else.";
            out.find(handset.head.place(mode.span), "modes", sentence, facts)
                .other(known.head.place(other.span), "the stick mode of the other handset")
                .about([craft.value.clone()])
                .mend_words("Set both handsets to one stick mode, or do not fly one aircraft from both.");
        }
    }
}
