//! `module/chains-wasted`: several chains send at once to a receiver that has one.

use super::reached;
use crate::rules::out::{Out, choice, replace};
use crate::setup::{ModelSetup, Setup};

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let chains =
        |setup: &Setup<'_>| reached(setup).and_then(|(_, receiver, _)| receiver.chains).map(|chains| chains.value);
    let single: Vec<&Setup<'_>> = view.setups.iter().filter(|setup| chains(setup) == Some(1)).collect();
    let several: Vec<&Setup<'_>> =
        view.setups.iter().filter(|setup| chains(setup).is_some_and(|count| count > 1)).collect();
    let Some(first) = single.first() else { return };
    let Some((bay, ..)) = reached(first) else { return };
    let Some(send) = bay.module.send_on.as_ref().filter(|send| send.value.at_once() > 1) else { return };
    let head = &view.model.head;
    let list = |setups: &[&Setup<'_>]| {
        let names: Vec<String> = setups.iter().map(|setup| format!("\"{}\"", setup.craft.head.name.value)).collect();
        names.join(" and ")
    };
    let message = format!(
        "{} chains send at once to a receiver with one chain: no gain, more noise, and more power in the air.",
        send.value.at_once()
    );
    let one = send.value.chains.first().copied().unwrap_or(1);
    let numbers = bay.link.map_or_else(Vec::new, |link| view.context.free_numbers(link));
    let finding = out.find_text(head.place(send.span), message);
    finding.about(single.iter().map(|setup| setup.craft.head.name.clone().value));
    for setup in &single {
        if let Some(chains) = reached(setup).and_then(|(_, receiver, _)| receiver.chains) {
            finding.other(setup.in_craft(chains.span), "this receiver has one chain");
        }
    }
    if several.is_empty() {
        let chains: Vec<String> = send.value.chains.iter().map(u8::to_string).collect();
        finding.mend_choices(
            "Send on one chain.",
            vec![
                choice(format!("send on chain {one}"), vec![replace(head, send.span, format!("send-on chain {one}"))]),
                choice(
                    "let the chains take turns",
                    vec![replace(head, send.span, format!("send-on chains {} in-turn", chains.join(", ")))],
                ),
            ],
        );
        return;
    }
    let own = bay.module.receiver_number.map(|number| number.value);
    let keep = own.or(numbers.first().copied());
    let new = numbers.iter().copied().find(|number| Some(*number) != keep);
    let number = |number: Option<u16>| number.map_or_else(|| "a free number".to_owned(), |number| number.to_string());
    finding.mend_words(format!(
        "Make two models of it. Keep \"{}\" for {}: receiver-number {}, match on, send-on chains as now. Copy it under a new name for {}: receiver-number {}, match on, send-on chain {one}. Then lock each receiver to the number of its model.",
        view.model.head.name.value,
        list(&several),
        number(keep),
        list(&single),
        number(new),
    ));
}
