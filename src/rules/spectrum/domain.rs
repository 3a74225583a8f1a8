//! `spectrum/domain`: a module or receiver was built for the radio rules of another region.

use super::{region_words, severity, source};
use crate::fleet::condition::Name;
use crate::radio::regions::{Agreement, Certainty, Domain, Table, domains_agree};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::radio::{Region, band};
use crate::source::Place;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((region, table)) = setup.region().and_then(|region| Some((region, region.table?))) else { return };
    if setup.model.simulator.is_some() {
        return;
    }
    for sender in setup.senders() {
        let Some(domain) = &sender.hardware.domain else { continue };
        let Some(handset) = setup.handset else { continue };
        one("module", domain, handset.head.place(domain.span), sender.link, (&region, table), out);
    }
    for receiver in &setup.craft.receivers {
        let link = receiver.link.as_ref().and_then(|link| setup.context.fleet.link(&link.value));
        if let (Some(domain), Some(link)) = (&receiver.domain, link) {
            one("receiver", domain, setup.in_craft(domain.span), link, (&region, table), out);
        }
    }
}

fn one(
    what: &str,
    domain: &Name,
    place: Place,
    link: &crate::fleet::equipment::Link,
    (region, table): (&Region<'_>, &'static Table),
    out: &mut Out<'_>,
) {
    let Some(built) = Domain::parse(&domain.value) else { return };
    if domains_agree(built, Domain::Of(region.code)) != Agreement::Different {
        return;
    }
    let row = band(link).and_then(|band| table.surest_row(band));
    let certainty = row.map_or(Certainty::Memory, |row| row.certainty);
    let law = match row {
        Some(row) if certainty.is_rule_text() => format!(" There, {} holds for this band.", source(row)),
        Some(row) => format!(" There, for this band, another rule is understood to hold: {}.", source(row)),
        None => String::new(),
    };
    let message = format!(
        "This {what} was built for the radio rules of domain {built}, and the aircraft is flown in {}.{law}",
        region_words(region)
    );
    out.find_text(place, message)
        .severity(severity(certainty))
        .other(region.site.head.place(region.name.span), "the region");
}
