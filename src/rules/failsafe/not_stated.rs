//! `failsafe/not-stated`: nothing says what the receiver does when the link is lost.

use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let head = &setup.craft.head;
    for at in setup.at_loss().iter().filter(|at| at.hears) {
        // A line that was not understood takes only its own receiver.
        let lost = at.receiver.is_some_and(|receiver| head.lost_within(receiver.body.whole, &["failsafe"]));
        match at.plan {
            _ if lost => {}
            Some(plan) if plan.action() == FailsafeAction::Unknown => {
                let sentence = "What the receiver does when the link is lost is not known.";
                out.find(plan.place(), "not known", sentence, []);
            }
            Some(_) => {}
            None => {
                let span = at.receiver.map_or(head.header, |receiver| receiver.header);
                let sentence =
                    "Neither the receiver nor the model says what the receiver gives out when the link is lost.";
                out.find(setup.in_craft(span), "neither", sentence, [])
                    .other(setup.in_model(setup.model.head.header), "the model");
            }
        }
    }
}
