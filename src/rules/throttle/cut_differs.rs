//! `throttle/cut-differs`: the movement that cuts the motor of one aircraft lets another's run.

use crate::findings::fact::{name, text};
use crate::rules::out::Out;
use crate::setup::{Arms, Context, ways_of_use};

pub(in crate::rules) fn check(_: &Context<'_>, arms: &[&Arms], out: &mut Out<'_>) {
    let differ = ways_of_use(arms).into_iter().filter(|(arm, other, _)| arm.cuts || other.cuts);
    for (arm, other, position) in differ {
        let facts = [
            name("control", arm.control.clone()),
            text("position", position.clone()),
            name("other", other.craft.clone()),
            name("model", other.model.clone()),
        ];
        let sentence = "{control} at {position} lets this aircraft's motor run, and it stops that of {other} (model {model}), which is flown with the same handset.";
        out.find(arm.place, "runs here", sentence, facts)
            .other(other.place, "the other way round here")
            .about([arm.craft.clone(), other.craft.clone()]);
    }
}
