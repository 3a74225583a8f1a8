//! `module/firmware`: module and receiver have different firmware versions.

use super::reached;
use crate::findings::Severity;
use crate::fleet::words::FirmwareCheck;
use crate::radio::pairing::major_version;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((_, receiver, hardware)) = reached(setup) else { return };
    let (Some(module), Some(own), Some(handset)) = (&hardware.firmware, &receiver.firmware, setup.handset) else {
        return;
    };
    if module.value == own.value {
        return;
    }
    let checks =
        setup.link.and_then(|link| link.firmware_check).is_some_and(|check| check.value == FirmwareCheck::SameMajor);
    let refuses = checks && major_version(&module.value) != major_version(&own.value);
    let (severity, then) = match refuses {
        true => (Severity::Caution, "the link refuses to connect them"),
        false => (Severity::Note, "the link connects them all the same"),
    };
    let message = format!("The receiver has firmware {} and the module {}: {then}.", own.value, module.value);
    out.find_text(setup.in_craft(own.span), message)
        .severity(severity)
        .other(handset.head.place(module.span), "the firmware of the module");
}
