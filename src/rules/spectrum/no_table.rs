//! `spectrum/no-table`: no table of radio rules for this region or band.

use super::stretch;
use crate::radio::regions::{BandVerdict, judge_band};
use crate::rules::out::Out;
use crate::rules::radio::{link_facts, region, senders};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    let Some(region) = region(pair) else { return };
    for sender in senders(pair) {
        let Some(table) = region.table else {
            let message = format!(
                "There is no table of radio rules for region {}: no band and no power is checked there.",
                region.code
            );
            out.find(region.site.head.place(region.name.span), message);
            return;
        };
        let (Some(link), Some(band)) = (link_facts(pair, &sender), sender.link.band) else { continue };
        if let BandVerdict::NotKnown { part } = judge_band(table, &link) {
            let message = format!(
                "The table for {} has nothing on {}, which this link uses: its power is not checked there.",
                region.words(),
                stretch(part)
            );
            out.find(sender.link.head.place(band.span), message)
                .other(region.site.head.place(region.name.span), "the region")
                .mend_words(format!("Ask the regulator: {}.", table.regulator));
        }
    }
}
