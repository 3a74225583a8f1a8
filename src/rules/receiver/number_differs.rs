//! `receiver/number-differs`: the receiver is locked to another number than the model's.

use super::{locked, paired};
use crate::fleet::words::NumberCheck;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((bay, receiver, link)) = paired(setup) else { return };
    let checked = link.number_check.is_some_and(|check| check.value != NumberCheck::None);
    let matching = bay.module.matching.is_some_and(|matching| matching.value);
    let (Some(number), Some(own)) = (bay.module.receiver_number, locked(receiver)) else { return };
    if !checked || !matching || number.value == own.value {
        return;
    }
    let then = match link.number_check.map(|check| check.value) {
        Some(NumberCheck::BlocksOutputs) => "the link comes up, and the outputs do not move",
        _ => "they do not connect",
    };
    let message =
        format!("The model has number {}, and the receiver is locked to {}: {then}.", number.value, own.value);
    let edits = vec![
        choice(
            format!("give the model the number {}", own.value),
            vec![replace(&setup.model.head, number.span, own.value.to_string())],
        ),
        choice(
            format!("lock the receiver to {}, here and in the receiver itself", number.value),
            vec![replace(&setup.craft.head, own.span, format!("number {}", number.value))],
        ),
    ];
    out.find_text(setup.in_model(number.span), message)
        .other(setup.in_craft(own.span), "the receiver's number")
        .mend_choices("Give model and receiver the same number.", edits);
}
