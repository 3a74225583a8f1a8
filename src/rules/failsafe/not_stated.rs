//! `failsafe/not-stated`: nothing says what the receiver does when the link is lost.

use super::plan;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let lost = |head: &crate::fleet::equipment::Head| head.lost_any(&["failsafe"]);
    if pair.model.simulator.is_some() || lost(&pair.craft.head) || lost(&pair.model.head) {
        return;
    }
    match plan(pair) {
        Some(plan) if plan.failsafe.action.value == FailsafeAction::Unknown => {
            out.find(plan.place(), "What the receiver does when the link is lost is not known.");
        }
        Some(_) => {}
        None => {
            let span = pair.receiver.map_or(pair.craft.head.header, |receiver| receiver.header);
            let message = "Neither the receiver nor the model says what the receiver gives out when the link is lost.";
            out.find(pair.in_craft(span), message).other(pair.in_model(pair.model.head.header), "the model");
        }
    }
}
