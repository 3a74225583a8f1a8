//! `module/chains-idle`: module and receiver have two chains, and one is used.

use super::reached;
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((bay, receiver, hardware)) = reached(setup) else { return };
    let (Some(sending), Some(receiving)) = (hardware.chains, receiver.chains) else { return };
    let Some(send) = bay.module.send_on.as_ref().filter(|send| send.value.chains.len() == 1) else { return };
    if sending.value < 2 || receiving.value < 2 {
        return;
    }
    let message = format!(
        "The module has {} chains and the receiver {}, and this model sends on one.",
        sending.value, receiving.value
    );
    let edit = replace(&setup.model.head, send.span, "send-on chains 1, 2");
    out.find_text(setup.in_model(send.span), message)
        .other(setup.in_craft(receiving.span), "the chains of the receiver")
        .mend_choices("Send on both chains.", vec![choice("send on chains 1 and 2", vec![edit])]);
}
