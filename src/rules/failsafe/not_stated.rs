//! `failsafe/not-stated`: nothing says what the receiver does when the link is lost.

use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let head = &setup.craft.head;
    let lost = match setup.receiver {
        Some(receiver) => head.lost_within(receiver.body.whole, &["failsafe"]),
        None => head.lost_here(&["receiver"]),
    };
    if setup.model.simulator.is_some() || lost || setup.model.head.lost_here(&["failsafe"]) {
        return;
    }
    match setup.plan() {
        Some(plan) if plan.failsafe.action.value == FailsafeAction::Unknown => {
            out.find_text(plan.place(), "What the receiver does when the link is lost is not known.");
        }
        Some(_) => {}
        None => {
            let span = setup.receiver.map_or(setup.craft.head.header, |receiver| receiver.header);
            let message = "Neither the receiver nor the model says what the receiver gives out when the link is lost.";
            out.find_text(setup.in_craft(span), message).other(setup.in_model(setup.model.head.header), "the model");
        }
    }
}
