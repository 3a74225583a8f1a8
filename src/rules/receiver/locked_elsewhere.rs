//! `receiver/locked-elsewhere`: match is off, and the receiver is locked to a number.

use crate::findings::fact::number;
use crate::fleet::words::NumberCheck;
use crate::rules::out::{Out, choice, insert, replace};
use crate::setup::{Setup, locked};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for heard in setup.heard() {
        let checked = heard.link.number_check.is_some_and(|check| check.value != NumberCheck::None);
        let Some(own) = locked(heard.receiver).filter(|_| checked) else { continue };
        let off = heard.wrong(|bay| Some((bay.module, bay.module.matching.filter(|matching| !matching.value)?)));
        for (module, matching) in off {
            let mut edits = vec![replace(&setup.model.head, matching.span, "on")];
            match module.receiver_number {
                Some(number) if number.value != own.value => {
                    edits.push(replace(&setup.model.head, number.span, own.value.to_string()))
                }
                Some(_) => {}
                None => edits.extend(
                    module.body.map(|body| insert(&setup.model.head, &body, &format!("receiver-number {}", own.value))),
                ),
            }
            let choices = vec![
                choice(format!("turn match on with number {}", own.value), edits),
                choice(
                    "unlock the receiver, here and in the receiver itself",
                    vec![replace(&setup.craft.head, own.span, "number any")],
                ),
            ];
            let sentence =
                "Match is off in this model, and the receiver is locked to number {own}: it does not answer.";
            out.find(setup.in_model(matching.span), "off", sentence, [number("own", own.value)])
                .other(setup.in_craft(own.span), "locked to a number")
                .mend_choices("Turn match on with the receiver's number, or unlock the receiver.", choices);
        }
    }
}
