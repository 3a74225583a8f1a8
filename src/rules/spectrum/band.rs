//! `spectrum/band`: a link uses frequencies that the region does not give to such links.

use super::{from, region_words, severity, source, stretch};
use crate::radio::regions::{Band, BandVerdict, Certainty, Mismatch, Row, judge_band};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::radio::link_facts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((region, table)) = setup.region().and_then(|region| Some((region, region.table?))) else { return };
    for sender in setup.senders() {
        let (Some(link), Some(band)) = (link_facts(setup, &sender), sender.link.band) else { continue };
        let (message, certainty) = match judge_band(table, &link) {
            BandVerdict::Outside { part, judged, nearest } => {
                let whole = part.low <= link.band.low && part.high >= link.band.high;
                let outside = if whole { "all".to_owned() } else { stretch(part) };
                let message = format!(
                    "This link uses {}, and {outside} of that {} outside every band for such links in {} ({}).{}",
                    stretch(link.band),
                    if judged.certainty.is_rule_text() { "lies" } else { "is understood to lie" },
                    region_words(&region),
                    from(&judged.source, judged.certainty),
                    near(&nearest),
                );
                (message, judged.certainty)
            }
            BandVerdict::NotForThis { part, rows } => {
                // Only where every row there was read in its rule is it known that none is for the link.
                let certainty = rows.iter().map(|(row, _)| row.certainty).max().unwrap_or(Certainty::Memory);
                let message = format!(
                    "In {}, {} {} for such a link: {}.",
                    region_words(&region),
                    stretch(part),
                    if certainty.is_rule_text() { "is not" } else { "is understood not to be" },
                    reasons(&rows),
                );
                (message, certainty)
            }
            BandVerdict::Allowed | BandVerdict::NotKnown { .. } => continue,
        };
        out.find_text(sender.link.head.place(band.span), message)
            .severity(severity(certainty))
            .other(region.site.head.place(region.name.span), "the region")
            .other(setup.in_model(sender.bay.module.header), "this model sends on the link");
    }
}

fn near(nearest: &[Band]) -> String {
    let bands: Vec<String> = nearest.iter().copied().map(stretch).collect();
    match bands.as_slice() {
        [] => String::new(),
        [one] => format!(" The nearest band is {one}."),
        several => format!(" The nearest bands are {}.", several.join(" and ")),
    }
}

/// Why each row is not for the link.
fn reasons(rows: &[(&Row, Vec<Mismatch>)]) -> String {
    let reasons = rows.iter().map(|(row, mismatches)| {
        let list: Vec<String> = mismatches.iter().map(|mismatch| asks(row, mismatch)).collect();
        format!("{} ({})", list.join(" and "), source(row))
    });
    reasons.collect::<Vec<_>>().join("; ")
}

/// What a row asks for that the link has not.
fn asks(row: &Row, mismatch: &Mismatch) -> String {
    match mismatch {
        Mismatch::Family => {
            let words: Vec<&str> = row.family.iter().map(|family| family.word()).collect();
            format!("one rule is for {} links", words.join(" or "))
        }
        Mismatch::HopChannels(fewest) => format!("one asks for at least {fewest} hopping channels"),
        Mismatch::NarrowerThan(least) => format!("one asks for a bandwidth of at least {least} MHz"),
        Mismatch::WiderThan(most) => format!("one asks for a bandwidth of at most {most} MHz"),
        Mismatch::NotListening => "one asks for listening before talking".to_owned(),
        Mismatch::AntennaGain(least) => format!("one asks for an antenna of at least {least} dBi"),
        Mismatch::Usage => "one is for another use".to_owned(),
        Mismatch::Outdoors => "one is for use inside buildings".to_owned(),
    }
}
