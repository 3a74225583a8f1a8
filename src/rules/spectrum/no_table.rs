//! `spectrum/no-table`: no table of radio rules for this region or band.

use super::{region_words, stretch};
use crate::radio::regions::{BandVerdict, judge_band};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::radio::link_facts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(region) = setup.region() else { return };
    for sender in setup.senders() {
        let Some(table) = region.table else {
            let message = format!(
                "There is no table of radio rules for region {}: no band and no power is checked there.",
                region.code
            );
            out.find_text(region.site.head.place(region.name.span), message);
            return;
        };
        let (Some(link), Some(band)) = (link_facts(setup, &sender), sender.link.band) else { continue };
        if let BandVerdict::NotKnown { part } = judge_band(table, &link) {
            let message = format!(
                "The table for {} has nothing on {}, which this link uses: its power is not checked there.",
                region_words(&region),
                stretch(part)
            );
            out.find_text(sender.link.head.place(band.span), message)
                .other(region.site.head.place(region.name.span), "the region")
                .mend_words(format!("Ask the regulator: {}.", table.regulator));
        }
    }
}
