//! Rules about the radio rules of the place where an aircraft is flown, and about the reach of its link.
//!
//! The tables defer to the regulator: a finding is a danger only where the row that it rests on was read in the rule's own
//! text, and says "is understood to be" otherwise.

rules_of!(spectrum);

use super::out::Out;
use crate::findings::Severity;
use crate::fleet::{Decimal, Dimension};
use crate::radio::regions::{Band, Certainty, Row, highest_fitting_step};
use crate::setup::Setup;
use crate::setup::radio::{RadioWay, Region, emission, link_facts, way};

/// How severe a breach is that rests on something so sure.
fn severity(certainty: Certainty) -> Severity {
    if certainty.is_rule_text() { Severity::Danger } else { Severity::Caution }
}

/// "is", or "is understood to be" where the rule's own text was not read.
fn is(certainty: Certainty) -> &'static str {
    if certainty.is_rule_text() { "is" } else { "is understood to be" }
}

/// Where a row is from, and how sure it is where that is not the rule itself.
fn source(row: &Row) -> String {
    from(&row.cited(), row.certainty)
}

fn from(cited: &str, certainty: Certainty) -> String {
    match certainty.is_rule_text() {
        true => cited.to_owned(),
        false => format!("{cited}; {}", certainty.meaning()),
    }
}

/// A number with at most so many digits behind the point, without zeros at its end.
fn figure(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let short = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if short == "-0" { "0".to_owned() } else { short.to_owned() }
}

/// A power in milliwatts for a reader: three good digits, watts from 1000 mW.
fn milliwatts(power_mw: f64) -> String {
    let digits = |value: f64| {
        if value >= 100.0 {
            0
        } else if value >= 10.0 {
            1
        } else {
            2
        }
    };
    match power_mw >= 1000.0 {
        true => format!("{} W", figure(power_mw / 1000.0, digits(power_mw / 1000.0))),
        false => format!("{} mW", figure(power_mw, digits(power_mw))),
    }
}

/// A region in words: the code and the name of the table.
fn region_words(region: &Region<'_>) -> String {
    match region.table {
        Some(table) => format!("region {} ({})", region.code, table.name),
        None => format!("region {}", region.code),
    }
}

/// A stretch of spectrum in words.
fn stretch(band: Band) -> String {
    format!("{} to {} MHz", figure(band.low, 4), figure(band.high, 4))
}

/// The ways of a setup whose margin is less than what is asked for, each with that margin and what is asked for, in dB.
fn short_ways<'f>(setup: &Setup<'f>, out: &Out<'_>) -> impl Iterator<Item = (RadioWay<'f>, f64, f64)> {
    let fade = out.parameter_of("spectrum/reach", "fade", Dimension::Gain).to_f64();
    setup.senders().filter_map(move |sender| {
        let way = way(setup, sender)?;
        let margin = way.budget.margin_db(way.reach_m);
        (margin < fade).then_some((way, margin, fade))
    })
}

/// Where a way is sent with the lowest step of the module: the higher steps that keep to the region's rules and have
/// the margin that is asked for, lowest first. None where the region's rules are not known.
fn bench_steps(setup: &Setup<'_>, way: &RadioWay<'_>, fade: f64) -> Vec<Decimal> {
    let Some((low, high)) = way.sender.bay.module.power.map(|power| power.value) else { return Vec::new() };
    let mut steps: Vec<Decimal> = way.sender.hardware.power.iter().map(|step| step.value).collect();
    steps.sort_unstable();
    let left_on_the_bench = low == high && steps.first() == Some(&low);
    let table = setup.region().and_then(|region| region.table).filter(|_| left_on_the_bench);
    let (Some(table), Some(link)) = (table, link_facts(setup, &way.sender)) else { return Vec::new() };
    let passes = |step: &Decimal| {
        let power_mw = step.to_f64();
        let lawful = highest_fitting_step(table, &link, &emission(setup, &way.sender, power_mw), &[power_mw]);
        way.at(power_mw).budget.margin_db(way.reach_m) >= fade && lawful.is_some_and(|step| step.certain)
    };
    steps.into_iter().filter(|step| *step > low).filter(passes).collect()
}

#[cfg(test)]
mod tests;
