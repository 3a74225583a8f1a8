//! `receiver/key-differs`: model and receiver carry different key labels.

use super::in_part;
use crate::findings::fact::name;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for heard in setup.heard() {
        let Some(own) = &heard.receiver.key else { continue };
        for key in heard.wrong(|bay| bay.module.key.as_ref().filter(|key| key.value != own.value)) {
            let facts = [name("key", key.value.clone()), name("own", own.value.clone())];
            let sentence =
                "The model sends with key {key}, and the receiver is bound with key {own}: they do not connect.";
            let finding = out.find(setup.in_model(key.span), "differs", sentence, facts);
            finding.other(setup.in_craft(own.span), "the receiver's key");
            in_part(setup, heard.receiver, finding);
        }
    }
}
