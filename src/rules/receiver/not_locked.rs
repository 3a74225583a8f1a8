//! `receiver/not-locked`: match is on, and the receiver is not locked to a model.

use super::paired;
use crate::findings::Severity;
use crate::fleet::craft::ReceiverNumber;
use crate::fleet::words::NumberCheck;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((bay, receiver, link)) = paired(setup) else { return };
    let Some(matching) = bay.module.matching.filter(|matching| matching.value) else { return };
    let Some(number) = receiver.number.filter(|number| number.value == ReceiverNumber::Any) else { return };
    let (severity, then) = match link.number_check.map(|check| check.value) {
        Some(NumberCheck::Strict) => (Severity::Caution, "the link connects them only once the receiver is locked"),
        Some(NumberCheck::Learns) => {
            (Severity::Note, "the receiver connects to whichever model comes first, and locks itself to it")
        }
        _ => return,
    };
    let message =
        format!("The model asks for its own receiver (match on), and this receiver is not locked to a number: {then}.");
    out.find_text(setup.in_craft(number.span), message)
        .severity(severity)
        .other(setup.in_model(matching.span), "match is on here");
}
