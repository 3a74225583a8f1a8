//! `module/chains-wasted`: several chains send at once to a receiver that has one.

use super::send_on;
use crate::findings::fact::{Joined, fill, name, names, number, word};
use crate::fleet::model::SendOn;
use crate::rules::out::{Out, choice, replace};
use crate::setup::offers::most_chains;
use crate::setup::{Bay, ModelSetup, Setup};
use crate::source::Located;
use compact_str::CompactString;

/// How to make two models of one.
const SPLIT: &str = "Make two models of it. Keep {model} for {several}: receiver-number {keep}, match on, send-on chains as now. Copy it under a new name for {single}: receiver-number {new}, match on, send-on chain {chain}. Then lock each receiver to the number of its model.";

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    for bay in &view.bays {
        if let Some(send) = bay.module.send_on.as_ref().filter(|send| send.value.at_once() > 1) {
            one(view, bay, send, out);
        }
    }
}

fn one(view: &ModelSetup<'_>, bay: &Bay<'_>, send: &Located<SendOn>, out: &mut Out<'_>) {
    let head = &view.model.head;
    // A receiver with more chains beside one with a single chain makes use of what is sent.
    let with = |fits: fn(u8) -> bool| -> Vec<&Setup<'_>> {
        view.setups.iter().filter(|setup| most_chains(setup, bay).is_some_and(fits)).collect()
    };
    let (single, several) = (with(|chains| chains == 1), with(|chains| chains > 1));
    if single.is_empty() {
        return;
    }
    let sentence =
        "{chains} chains send at once to a receiver with one chain: no gain, more noise, and more power in the air.";
    let facts = [number("chains", send.value.at_once() as u32), name("bay", bay.module.bay.value.clone())];
    let finding = out.find(head.place(send.span), "wasted", sentence, facts);
    finding.about(crafts(&single));
    for setup in &single {
        for chains in setup.receivers_of(bay).filter_map(|receiver| receiver.chains) {
            finding.other(setup.in_craft(chains.span), "this receiver has one chain");
        }
    }
    let chain = send.value.chains.first().copied().unwrap_or(1);
    if several.is_empty() {
        let write = |text: String| vec![replace(head, send.span, text)];
        finding.mend_choices(
            "Send on one chain.",
            vec![
                choice(fill("send on chain {chain}", &[number("chain", chain)]), write(send_on(&[chain], false))),
                choice("let the chains take turns", write(send_on(&send.value.chains, true))),
            ],
        );
        return;
    }
    // Two are enough: one is kept, and one is new.
    let free: Vec<u16> = bay.link.into_iter().flat_map(|link| view.context.free_numbers(link)).take(2).collect();
    let own = bay.module.receiver_number.map(|number| number.value);
    let keep = own.or(free.first().copied());
    let new = free.iter().copied().find(|number| Some(*number) != keep);
    let or_free = |fact, stated: Option<u16>| stated.map_or(word(fact, "a free number"), |stated| number(fact, stated));
    let mend = [
        name("model", head.name.value.clone()),
        names("several", Joined::And, crafts(&several)),
        names("single", Joined::And, crafts(&single)),
        or_free("keep", keep),
        or_free("new", new),
        number("chain", chain),
    ];
    finding.mend_words(fill(SPLIT, &mend));
}

fn crafts(setups: &[&Setup<'_>]) -> Vec<CompactString> {
    setups.iter().map(|setup| setup.craft.head.name.value.clone()).collect()
}
