//! `spectrum/domain-differs`: module and receiver were built for different regulatory domains.

use crate::findings::fact::text;
use crate::rules::out::Out;
use crate::setup::pairing::other_domains;
use crate::setup::{Setup, Way};

pub(in crate::rules) fn check(setup: &Setup<'_>, way: &Way<'_>, out: &mut Out<'_>) {
    let (Some((receiver, module)), Some(own)) = (other_domains(way), &way.receiver.domain) else { return };
    let facts = [text("receiver", receiver.to_string()), text("module", module.to_string())];
    let sentence = "The receiver was built for the radio rules of domain {receiver}, and the module for domain {module}: they do not connect.";
    let finding = out.find(setup.in_craft(own.span), "differ", sentence, facts);
    let domain = way.bay.and_then(|bay| bay.hardware?.domain.as_ref());
    if let Some((handset, domain)) = setup.handset.zip(domain) {
        finding.other(handset.head.place(domain.span), "the module's domain");
    }
}
