//! `module/update-rate`: the link does not offer the update rate.

use crate::findings::fact::{FactValue, Joined, Unit, amount, fill, list, name};
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;
use crate::setup::offers::odd_rate;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let head = &view.model.head;
    for bay in &view.bays {
        let (Some(link), Some(rate)) = (bay.link, bay.module.update_rate) else { continue };
        let Some(odd) = odd_rate(bay, link) else { continue };
        let choices = odd.instead.iter().map(|&near| {
            let facts = [amount("near", near, Unit::Hz)];
            choice(fill("send at {near}", &facts), vec![replace(head, rate.span, fill("{near}", &facts))])
        });
        let facts = [
            name("link", link.head.name.value.clone()),
            amount("asked", odd.asked, Unit::Hz),
            list("rates", Joined::Comma, odd.offered.iter().map(|&rate| FactValue::Amount(rate.into(), Unit::Hz))),
        ];
        let sentence = "Link {link} has no update rate of {asked}; it has {rates}.";
        out.find(head.place(rate.span), "no-rate", sentence, facts)
            .other(link.head.place(odd.stated), "the rates of the link")
            .mend_choices("Choose a rate that the link has.", choices.collect());
    }
}
