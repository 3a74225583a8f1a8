//! `receiver/several-answer`: one model is answered by several of its aircraft at once.

use crate::findings::Severity;
use crate::findings::coverage::Missing;
use crate::findings::fact::{Joined, names};
use crate::rules::out::Out;
use crate::rules::wording;
use crate::setup::{ModelSetup, is_matched};
use compact_str::format_compact;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let answering = view.answering();
    let (Some((first, _)), true) = (answering.first(), answering.len() > 1) else {
        for (setup, unstated) in view.perhaps_answering() {
            let place = setup.craft.head.place(setup.craft.head.header);
            let why = format_compact!("whether it answers hangs on {}, not stated", wording::unstated(&unstated));
            out.misses(Missing::SignalPath { place, why });
        }
        return;
    };
    let Some(flies) = view.model.flies.iter().find(|name| name.value == first.craft.head.name.value) else { return };
    let last = view.model.flies.last().unwrap_or(flies);
    let matched = view.bays.iter().all(|bay| is_matched(bay.module));
    let crafts = || answering.iter().map(|(setup, _)| setup.craft.head.name.value.clone());
    let sentence = "This model is answered by {aircraft} at once: power one of them at a time.";
    let facts = [names("aircraft", Joined::And, crafts())];
    let finding = out.find(view.model.head.place(flies.span.to(last.span)), "at once", sentence, facts);
    finding.severity(if matched { Severity::Note } else { Severity::Caution });
    finding.about(crafts());
    for (setup, receiver) in &answering {
        if let Some(number) = receiver.number {
            finding.other(setup.in_craft(number.span), "answers this model");
        }
    }
}
