//! `spectrum/band`: a link uses frequencies that the region does not give to such links.

use super::{from, region, severity, source, stretch};
use crate::findings::fact::{Amount, Fact, FactValue, Joined, Unit, amount, fill, list, number, text, word};
use crate::radio::certainty::Certainty;
use crate::radio::regions::{Band, BandVerdict, Judged, Mismatch, Row};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::lawful::Ruled;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for ruled in setup.ruled() {
        let (key, sentence, facts, certainty) = match ruled.band_verdict() {
            BandVerdict::Outside { part, judged, nearest } => outside(ruled, part, judged, &nearest),
            BandVerdict::NotForThis { part, rows } => not_for_this(ruled, part, &rows),
            BandVerdict::Allowed | BandVerdict::NotKnown { .. } => continue,
        };
        out.find(ruled.sender.link.head.place(ruled.band), key, &sentence, facts)
            .severity(severity(certainty))
            .other(ruled.region.site.head.place(ruled.region.name.span), "the region")
            .other(setup.in_model(ruled.sender.bay.module.header), "this model sends on the link");
    }
}

/// Which case it is, its sentence with the facts, and how sure that is.
type Said = (&'static str, String, Vec<Fact>, Certainty);

fn outside(ruled: &Ruled<'_>, part: Band, judged: &Judged, nearest: &[Band]) -> Said {
    let certainty = judged.certainty;
    let (key, outside) = match part.holds(ruled.link.band) {
        true => ("outside", "all of that {lies} outside every band"),
        false => ("partly-outside", "{low} to {high} of that {lies} outside every band"),
    };
    let mut sentence =
        ["This link uses {from} to {to}, and ", outside, " for such links in {region} ({source})."].concat();
    let mut facts = vec![
        word("lies", if certainty.is_rule_text() { "lies" } else { "is understood to lie" }),
        region(&ruled.region),
        text("source", from(&judged.source, certainty)),
    ];
    facts.extend(stretch("from", "to", ruled.link.band));
    facts.extend(stretch("low", "high", part));
    if !nearest.is_empty() {
        let bands =
            nearest.iter().map(|band| FactValue::Text(fill("{low} to {high}", &stretch("low", "high", *band)).into()));
        facts.push(list("nearest", Joined::And, bands));
        sentence.push_str(match nearest {
            [_] => " The nearest band is {nearest}.",
            _ => " The nearest bands are {nearest}.",
        });
    }
    (key, sentence, facts, certainty)
}

fn not_for_this(ruled: &Ruled<'_>, part: Band, rows: &[(&Row, Vec<Mismatch>)]) -> Said {
    // Only where every row there was read in its rule is it known that none is for the link.
    let certainty = rows.iter().map(|(row, _)| row.certainty).max().unwrap_or(Certainty::Memory);
    let reasons = rows.iter().map(|(row, mismatches)| {
        let asked = mismatches.iter().map(|mismatch| FactValue::Text(asks(row, mismatch).into()));
        FactValue::Text(fill("{asked} ({source})", &[list("asked", Joined::And, asked), source(row)]).into())
    });
    let mut facts = vec![
        region(&ruled.region),
        word("is", if certainty.is_rule_text() { "is not" } else { "is understood not to be" }),
        list("reasons", Joined::Apart, reasons),
    ];
    facts.extend(stretch("low", "high", part));
    ("not-for-this", "In {region}, {low} to {high} {is} for such a link: {reasons}.".to_owned(), facts, certainty)
}

/// What a row asks for that the link has not.
fn asks(row: &Row, mismatch: &Mismatch) -> String {
    match mismatch {
        Mismatch::Family => {
            let words = row.family.iter().map(|family| FactValue::Word(family.word()));
            fill("one rule is for {families} links", &[list("families", Joined::Or, words)])
        }
        Mismatch::HopChannels(fewest) => {
            fill("one asks for at least {fewest} hopping channels", &[number("fewest", *fewest)])
        }
        Mismatch::NarrowerThan(least) => fill(
            "one asks for a bandwidth of at least {least}",
            &[amount("least", Amount::Computed(*least, 4), Unit::MHz)],
        ),
        Mismatch::WiderThan(most) => {
            fill("one asks for a bandwidth of at most {most}", &[amount("most", Amount::Computed(*most, 4), Unit::MHz)])
        }
        Mismatch::NotListening => "one asks for listening before talking".to_owned(),
        Mismatch::AntennaGain(least) => fill(
            "one asks for an antenna of at least {least}",
            &[amount("least", Amount::Computed(*least, 2), Unit::Dbi)],
        ),
        Mismatch::Usage => "one is for another use".to_owned(),
        Mismatch::Outdoors => "one is for use inside buildings".to_owned(),
    }
}
