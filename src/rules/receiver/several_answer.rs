//! `receiver/several-answer`: one model is answered by several of its aircraft at once.

use crate::findings::Severity;
use crate::rules::out::Out;
use crate::setup::ModelSetup;
use crate::setup::pairing::{Reaches, reach};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    if view.setups.len() < 2 {
        return;
    }
    let answering: Vec<_> = view
        .setups
        .iter()
        .filter(|setup| matches!(reach(view.context, &view.bays, setup.craft), Reaches::Yes(..)))
        .collect();
    let (Some(first), true) = (answering.first(), answering.len() > 1) else { return };
    let Some(flies) = view.model.flies.iter().find(|name| name.value == first.craft.head.name.value) else { return };
    let last = view.model.flies.last().unwrap_or(flies);
    let matched = view.bays.iter().all(|bay| bay.module.matching.is_some_and(|matching| matching.value));
    let names: Vec<String> = answering.iter().map(|setup| format!("\"{}\"", setup.craft.head.name.value)).collect();
    let message = format!("This model is answered by {} at once: power one of them at a time.", names.join(", "));
    let finding = out.find_text(view.model.head.place(flies.span.to(last.span)), message);
    finding.severity(if matched { Severity::Note } else { Severity::Caution });
    finding.about(answering.iter().map(|setup| setup.craft.head.name.value.clone()));
    for setup in &answering {
        if let Some(number) = setup.receiver.and_then(|receiver| receiver.number) {
            finding.other(setup.in_craft(number.span), "answers this model");
        }
    }
}
