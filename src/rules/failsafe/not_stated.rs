//! `failsafe/not-stated`: nothing says what the receiver does when the link is lost.

use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let head = &setup.craft.head;
    for at in setup.at_loss().iter().filter(|at| at.hears) {
        // A line that was not understood takes only its own receiver.
        let lost = at.receiver.is_some_and(|receiver| head.lost_within(receiver.body.whole, &["failsafe"]));
        if lost || at.plan.is_some() {
            continue;
        }
        let span = at.receiver.map_or(head.header, |receiver| receiver.header);
        let sentence = "Neither the receiver nor the model says what the receiver gives out when the link is lost.";
        out.find(setup.in_craft(span), "neither", sentence, [])
            .other(setup.in_model(setup.model.head.header), "the model");
    }
}
