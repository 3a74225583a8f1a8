//! `spectrum/domain`: a module or receiver was built for the radio rules of another region.

use super::{region, severity, source};
use crate::findings::fact::{text, word};
use crate::radio::certainty::Certainty;
use crate::rules::out::Out;
use crate::setup::Setup;

/// What every sentence begins with.
const BUILT: &str =
    "This {what} was built for the radio rules of domain {domain}, and the aircraft is flown in {region}.";

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(here) = setup.region() else { return };
    for foreign in setup.foreign() {
        let certainty = foreign.row.map_or(Certainty::Memory, |row| row.certainty);
        let law = match foreign.row {
            Some(_) if certainty.is_rule_text() => " There, {source} holds for this band.",
            Some(_) => " There, for this band, another rule is understood to hold: {source}.",
            None => "",
        };
        let key = if foreign.receiver { "receiver" } else { "module" };
        let mut facts = vec![word("what", key), text("domain", foreign.built.to_string()), region(&here)];
        facts.extend(foreign.row.map(source));
        out.find(foreign.place, key, &[BUILT, law].concat(), facts)
            .severity(severity(certainty))
            .other(here.site.head.place(here.name.span), "the region");
    }
}
