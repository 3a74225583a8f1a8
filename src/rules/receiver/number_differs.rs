//! `receiver/number-differs`: the receiver is locked to another number than the model's.

use super::in_part;
use crate::findings::fact::number as fact;
use crate::fleet::words::NumberCheck;
use crate::rules::out::{Out, choice, replace};
use crate::setup::{Setup, is_answered, is_matched, locked};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for heard in setup.heard() {
        let (key, sentence) = match heard.link.number_check.map(|check| check.value) {
            None | Some(NumberCheck::None) => continue,
            Some(NumberCheck::BlocksOutputs) => (
                "outputs stand still",
                "The model has number {number}, and the receiver is locked to {own}: the link comes up, and the outputs do not move.",
            ),
            Some(_) => (
                "no connection",
                "The model has number {number}, and the receiver is locked to {own}: they do not connect.",
            ),
        };
        let Some(own) = locked(heard.receiver) else { continue };
        let differs = heard.wrong(|bay| {
            let number = bay.module.receiver_number.filter(|_| is_matched(bay.module))?;
            (number.value != own.value).then_some(number)
        });
        for number in differs {
            let of_model = choice(
                format!("give the model the number {}", own.value),
                vec![replace(&setup.model.head, number.span, own.value.to_string())],
            );
            let of_receiver = choice(
                format!("lock the receiver to {}, here and in the receiver itself", number.value),
                vec![replace(&setup.craft.head, own.span, format!("number {}", number.value))],
            );
            // A new number for one of them helps only where it does not lose another: another receiver may have the model's number
            // already, and another model the receiver's.
            let answered = is_answered(setup.context.fleet, setup.model, heard.link, number.value);
            let sent = setup.context.is_sent_by_another(setup.model, setup.craft, own.value);
            let edits = match (answered, sent) {
                (false, false) => vec![of_model, of_receiver],
                (true, false) => vec![of_receiver],
                (false, true) => vec![of_model],
                (true, true) => Vec::new(),
            };
            let words = match edits.is_empty() {
                false => "Give model and receiver the same number.",
                true => {
                    "Another model of this aircraft has the receiver's number, and another receiver of this model has the model's: choose \
                     one number for all of them."
                }
            };
            let facts = [fact("number", number.value), fact("own", own.value)];
            let finding = out.find(setup.in_model(number.span), key, sentence, facts);
            finding.other(setup.in_craft(own.span), "the receiver's number").mend_choices(words, edits);
            in_part(setup, heard.receiver, finding);
        }
    }
}
