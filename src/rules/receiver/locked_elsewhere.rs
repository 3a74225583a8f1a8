//! `receiver/locked-elsewhere`: match is off, and the receiver is locked to a number.

use super::{locked, paired};
use crate::fleet::words::NumberCheck;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((bay, receiver, link)) = paired(setup) else { return };
    let checked = matches!(
        link.number_check.map(|check| check.value),
        Some(NumberCheck::Strict | NumberCheck::Learns | NumberCheck::BlocksOutputs)
    );
    let Some(matching) = bay.module.matching.filter(|matching| !matching.value && checked) else { return };
    let Some(own) = locked(receiver) else { return };
    let message =
        format!("Match is off in this model, and the receiver is locked to number {}: it does not answer.", own.value);
    let mut edits = vec![replace(&setup.model.head, matching.span, "on")];
    match bay.module.receiver_number {
        Some(number) if number.value != own.value => {
            edits.push(replace(&setup.model.head, number.span, own.value.to_string()))
        }
        Some(_) => {}
        None => edits.extend(bay.module.body.map(|body| {
            crate::rules::out::insert(&setup.model.head, &body, &format!("receiver-number {}", own.value))
        })),
    }
    let choices = vec![
        choice(format!("turn match on with number {}", own.value), edits),
        choice(
            "unlock the receiver, here and in the receiver itself",
            vec![replace(&setup.craft.head, own.span, "number any")],
        ),
    ];
    out.find_text(setup.in_model(matching.span), message)
        .other(setup.in_craft(own.span), "locked to a number")
        .mend_choices("Turn match on with the receiver's number, or unlock the receiver.", choices);
}
