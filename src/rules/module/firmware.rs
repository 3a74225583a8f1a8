//! `module/firmware`: module and receiver have different firmware versions.

use crate::findings::Severity;
use crate::findings::fact::text;
use crate::rules::out::Out;
use crate::setup::offers::other_firmware;
use crate::setup::{Setup, Way};

/// What every sentence begins with.
const DIFFER: &str = "The receiver has firmware {receiver} and the module {module}: ";

pub(in crate::rules) fn check(setup: &Setup<'_>, way: &Way<'_>, out: &mut Out<'_>) {
    let Some(differing) = other_firmware(way) else { return };
    let (key, severity, then) = match differing.refused {
        Some(true) => ("refused", Severity::Caution, "the link refuses to connect them."),
        Some(false) => ("connects", Severity::Note, "the link connects them all the same."),
        None => ("not-known", Severity::Note, "whether the link connects them is not stated."),
    };
    let (module, receiver) = (differing.module, differing.receiver);
    let facts = [text("receiver", receiver.value.clone()), text("module", module.value.clone())];
    let finding = out.find(setup.in_craft(receiver.span), key, &[DIFFER, then].concat(), facts);
    finding.severity(severity).case(if differing.refused == Some(false) { "connects" } else { "" });
    if let Some(handset) = setup.handset {
        finding.other(handset.head.place(module.span), "the firmware of the module");
    }
}
