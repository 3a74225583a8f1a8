//! `module/chains-missing`: more chains are asked for than the module has.

use super::send_on;
use crate::findings::fact::{name, number};
use crate::rules::out::{Out, replace};
use crate::setup::ModelSetup;

pub(in crate::rules) fn check(view: &ModelSetup<'_>, out: &mut Out<'_>) {
    let head = &view.model.head;
    for bay in &view.bays {
        let (Some(chains), Some(send)) = (bay.hardware.and_then(|hardware| hardware.chains), &bay.module.send_on)
        else {
            continue;
        };
        let asked = send.value.chains.iter().copied();
        let Some(missing) = asked.clone().find(|&chain| chain > chains.value) else { continue };
        let there: Vec<u8> = asked.filter(|&chain| chain <= chains.value).collect();
        let text = match there.as_slice() {
            [] => send_on(&[1], false),
            there => send_on(there, send.value.in_turn),
        };
        let (key, sentence) = match chains.value {
            1 => ("one-chain", "The model sends on chain {missing}, and the module has one chain."),
            _ => ("several-chains", "The model sends on chain {missing}, and the module has {chains} chains."),
        };
        let facts =
            [number("missing", missing), number("chains", chains.value), name("bay", bay.module.bay.value.clone())];
        let finding = out.find(head.place(send.span), key, sentence, facts);
        finding.mend_offer(format!("write `{text}`"), vec![replace(head, send.span, text)]);
        if let Some(handset) = view.handset {
            finding.other(handset.head.place(chains.span), "the chains of the module");
        }
    }
}
