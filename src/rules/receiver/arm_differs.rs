//! `receiver/arm-differs`: the movement that stops one aircraft starts another of the same pilot's.

use crate::findings::fact::{name, text};
use crate::rules::out::Out;
use crate::setup::{Arms, Context};
use rustc_hash::FxHashMap;

/// The first aircraft of each way to use a control, with the one before it that uses it the other way round: there are few ways,
/// however many aircraft there are.
type Ways<'a> = Vec<(&'a Arms, Option<&'a Arms>)>;

pub(in crate::rules) fn check(_: &Context<'_>, arms: &[&Arms], out: &mut Out<'_>) {
    let mut ways: FxHashMap<(&str, &str), Ways<'_>> = FxHashMap::default();
    for &arm in arms {
        let known = ways.entry((&arm.handset, &arm.control)).or_default();
        let other = match known.iter().find(|(alike, _)| alike.is_alike(arm)) {
            Some((_, other)) => *other,
            None => {
                let other = known.iter().map(|(first, _)| *first).find(|first| arm.crossed(first).is_some());
                known.push((arm, other));
                other
            }
        };
        if let Some((other, position)) = other.and_then(|other| Some((other, arm.crossed(other)?))) {
            let facts = [
                name("control", arm.control.clone()),
                text("position", position.clone()),
                name("other", other.craft.clone()),
                name("model", other.model.clone()),
            ];
            let sentence = "{control} at {position} starts this aircraft, and it stops {other} (model {model}), which is flown with the same handset.";
            out.find(arm.place, "starts here", sentence, facts)
                .other(other.place, "the other way round here")
                .about([arm.craft.clone(), other.craft.clone()]);
        }
    }
}
