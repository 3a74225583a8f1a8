//! `spectrum/domain-differs`: module and receiver were built for different regulatory domains.

use crate::radio::regions::{Agreement, Domain, domains_agree};
use crate::rules::out::Out;
use crate::rules::receiver::paired;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let (Some((bay, receiver, _)), Some(handset)) = (paired(setup), setup.handset) else { return };
    let (Some(own), Some(module)) = (&receiver.domain, bay.hardware.and_then(|hardware| hardware.domain.as_ref()))
    else {
        return;
    };
    let (Some(one), Some(other)) = (Domain::parse(&own.value), Domain::parse(&module.value)) else { return };
    if domains_agree(one, other) == Agreement::Different {
        let message = format!(
            "The receiver was built for the radio rules of domain {one}, and the module for domain {other}: they do not connect."
        );
        out.find_text(setup.in_craft(own.span), message).other(handset.head.place(module.span), "the module's domain");
    }
}
