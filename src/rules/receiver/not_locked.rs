//! `receiver/not-locked`: match is on, and the receiver is not locked to a model.

use crate::findings::Severity;
use crate::fleet::craft::ReceiverNumber;
use crate::fleet::words::NumberCheck;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for heard in setup.heard() {
        let Some(number) = heard.receiver.number.filter(|number| number.value == ReceiverNumber::Any) else { continue };
        let (severity, key, sentence) = match heard.link.number_check.map(|check| check.value) {
            Some(NumberCheck::Strict) => (
                Severity::Caution,
                "strict",
                "The model asks for its own receiver (match on), and this receiver is not locked to a number: the link connects them only once the receiver is locked.",
            ),
            Some(NumberCheck::Learns) => (
                Severity::Note,
                "learns",
                "The model asks for its own receiver (match on), and this receiver is not locked to a number: the receiver connects to whichever model comes first, and locks itself to it.",
            ),
            _ => continue,
        };
        for matching in heard.wrong(|bay| bay.module.matching.filter(|matching| matching.value)) {
            out.find(setup.in_craft(number.span), key, sentence, [])
                .severity(severity)
                .other(setup.in_model(matching.span), "match is on here");
        }
    }
}
