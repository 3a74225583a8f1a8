//! `spectrum/no-table`: no table of radio rules for this region or band.

use super::{region, stretch};
use crate::findings::fact::text;
use crate::radio::regions::BandVerdict;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(here) = setup.region() else { return };
    let place = here.site.head.place(here.name.span);
    if here.table.is_none() && setup.senders().next().is_some() {
        let sentence = "There is no table of radio rules for region {code}: no band and no power is checked there.";
        out.find(place, "region", sentence, [text("code", here.code.to_string())]);
    }
    for ruled in setup.ruled() {
        let BandVerdict::NotKnown { part } = ruled.band_verdict() else { continue };
        let [low, high] = stretch("low", "high", part);
        let sentence = "The table for {region} has nothing on {low} to {high}, which this link uses: its power is not checked there.";
        out.find(ruled.sender.link.head.place(ruled.band), "band", sentence, [region(&here), low, high])
            .other(place, "the region")
            .mend_words(format!("Ask the regulator: {}.", ruled.table.regulator));
    }
}
