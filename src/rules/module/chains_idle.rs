//! `module/chains-idle`: module and receiver have two chains, and one is used.

use crate::findings::fact::number;
use crate::rules::out::{Out, choice, replace};
use crate::setup::{Setup, Way};

pub(in crate::rules) fn check(setup: &Setup<'_>, way: &Way<'_>, out: &mut Out<'_>) {
    let Some((bay, hardware)) = way.bay.and_then(|bay| Some((bay, bay.hardware?))) else { return };
    let (Some(sending), Some(receiving)) = (hardware.chains, way.receiver.chains) else { return };
    let Some(send) = bay.module.send_on.as_ref().filter(|send| send.value.chains.len() == 1) else { return };
    if sending.value < 2 || receiving.value < 2 {
        return;
    }
    let facts = [number("sending", sending.value), number("receiving", receiving.value)];
    let sentence = "The module has {sending} chains and the receiver {receiving}, and this model sends on one.";
    let edit = replace(&setup.model.head, send.span, "send-on chains 1, 2");
    out.find(setup.in_model(send.span), "idle", sentence, facts)
        .other(setup.in_craft(receiving.span), "the chains of the receiver")
        .mend_choices("Send on both chains.", vec![choice("send on chains 1 and 2", vec![edit])]);
}
