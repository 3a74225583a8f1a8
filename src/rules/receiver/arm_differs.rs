//! `receiver/arm-differs`: the movement that stops one aircraft starts another of the same pilot's.

use crate::rules::out::Out;
use crate::setup::{Arms, Context};
use rustc_hash::FxHashMap;

pub(in crate::rules) fn check(_: &Context<'_>, arms: &[Arms], out: &mut Out<'_>) {
    let mut first: FxHashMap<(&str, &str), &Arms> = FxHashMap::default();
    for arm in arms {
        let known = *first.entry((&arm.handset, &arm.control)).or_insert(arm);
        let crossed =
            arm.starts.iter().find(|position| known.stops.contains(position) && !known.starts.contains(position));
        let back = known.starts.iter().any(|position| arm.stops.contains(position) && !arm.starts.contains(position));
        let Some(position) = crossed.filter(|_| back) else { continue };
        let message = format!(
            "\"{}\" at {position} starts this aircraft, and it stops \"{}\" (model \"{}\"), which is flown with the same handset.",
            arm.control, known.craft, known.model
        );
        out.find_text(arm.place, message)
            .other(known.place, "the other way round here")
            .about([arm.craft.clone(), known.craft.clone()]);
    }
}
