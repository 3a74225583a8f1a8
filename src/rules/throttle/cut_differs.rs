//! `throttle/cut-differs`: the movement that cuts the motor of one aircraft lets another's run.

use crate::rules::out::Out;
use crate::rules::receiver::other_way_round;
use crate::setup::OtherWay;

pub(in crate::rules) fn check(ways: &[OtherWay<'_>], out: &mut Out<'_>) {
    let sentence = "{control} at {position} lets this aircraft's motor run, and it stops that of {other} (model {model}), which is flown with the same handset.";
    other_way_round(ways, out, |arm, other| arm.cuts || other.cuts, "runs here", sentence);
}
