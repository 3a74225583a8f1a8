//! `receiver/key-differs`: model and receiver carry different key labels.

use super::paired;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((bay, receiver, _)) = paired(setup) else { return };
    let (Some(key), Some(own)) = (&bay.module.key, &receiver.key) else { return };
    if key.value != own.value {
        let message = format!(
            "The model sends with key \"{}\", and the receiver is bound with key \"{}\": they do not connect.",
            key.value, own.value
        );
        out.find_text(setup.in_model(key.span), message).other(setup.in_craft(own.span), "the receiver's key");
    }
}
