//! Rules about the radio rules of the place where an aircraft is flown, and about the reach of its link.
//!
//! The tables defer to the regulator: a finding is a danger only where the row that it rests on was read in the rule's own
//! text, and says "is understood to be" otherwise.

rules_of!(spectrum);

use super::out::Out;
use crate::findings::Severity;
use crate::findings::fact::{Amount, Fact, Unit, amount, number, text, word};
use crate::fleet::{Decimal, Dimension};
use crate::radio::certainty::Certainty;
use crate::radio::regions::{Band, Row};
use crate::setup::lawful::ShortWay;
use crate::setup::radio::Region;

/// How severe a breach is that rests on something so sure.
fn severity(certainty: Certainty) -> Severity {
    if certainty.is_rule_text() { Severity::Danger } else { Severity::Caution }
}

/// "is", or "is understood to be" where the rule's own text was not read.
fn is(certainty: Certainty) -> Fact {
    word("is", if certainty.is_rule_text() { "is" } else { "is understood to be" })
}

/// Where a row is from, and how sure it is where that is not the rule itself.
fn source(row: &Row) -> Fact {
    cited("source", row)
}

/// The same under a name.
fn cited(name: &'static str, row: &Row) -> Fact {
    text(name, from(&row.cited(), row.certainty))
}

fn from(cited: &str, certainty: Certainty) -> String {
    match certainty.is_rule_text() {
        true => cited.to_owned(),
        false => format!("{cited}; {}", certainty.meaning()),
    }
}

/// A region: the code and the name of the table.
fn region(region: &Region<'_>) -> Fact {
    text("region", format!("region {} ({})", region.code, region.table.map_or("", |table| table.name.as_str())))
}

/// A stretch of spectrum, under two names.
fn stretch(from: &'static str, to: &'static str, band: Band) -> [Fact; 2] {
    let mhz = |edge| Amount::Computed(edge, 4);
    [number(from, mhz(band.low)), amount(to, mhz(band.high), Unit::MHz)]
}

/// The margin that is asked for at the planned reach.
fn fade(out: &Out<'_>) -> Decimal {
    out.parameter_of("spectrum/reach", "fade", Dimension::Gain)
}

/// The facts of a way with too little margin.
fn margin(short: &ShortWay<'_>, asked: Decimal) -> [Fact; 3] {
    [
        amount("distance", Amount::Computed(short.way.reach_m, 0), Unit::M),
        amount("margin", short.margin_db, Unit::Db),
        amount("asked", asked, Unit::Db),
    ]
}

#[cfg(test)]
mod tests;
