//! `module/update-rate`: the link does not offer the update rate.

use super::by_distance;
use crate::rules::out::{Out, choice, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for bay in &view.bays {
        let (Some(link), Some(rate)) = (bay.link, bay.module.update_rate) else { continue };
        let offered: Vec<_> = link.update_rates.iter().map(|rate| rate.value).collect();
        let (Some(first), false) = (link.update_rates.first(), offered.contains(&rate.value)) else { continue };
        let list: Vec<String> = offered.iter().map(|rate| format!("{rate} Hz")).collect();
        let choices = by_distance(rate.value, offered).into_iter().map(|near| {
            choice(format!("send at {near} Hz"), vec![replace(&view.model.head, rate.span, format!("{near} Hz"))])
        });
        let name = &link.head.name.value;
        out.find_text(
            view.model.head.place(rate.span),
            format!("Link \"{name}\" has no update rate of {} Hz; it has {}.", rate.value, list.join(", ")),
        )
        .other(link.head.place(first.span), "the rates of the link")
        .mend_choices("Choose a rate that the link has.", choices.collect());
    }
}
