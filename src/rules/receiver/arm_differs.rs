//! `receiver/arm-differs`: the movement that stops one aircraft starts another of the same pilot's.

use super::other_way_round;
use crate::rules::out::Out;
use crate::setup::OtherWay;

pub(in crate::rules) fn check(ways: &[OtherWay<'_>], out: &mut Out<'_>) {
    let sentence = "{control} at {position} starts this aircraft, and it stops {other} (model {model}), which is flown with the same handset.";
    other_way_round(ways, out, |arm, other| !arm.cuts && !other.cuts, "starts here", sentence);
}
