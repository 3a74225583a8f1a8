//! `spectrum/duty`: the handset is on the air for more of the time than the region allows, or does not listen first.

use super::{figure, is, region_words, source};
use crate::radio::regions::{
    AirProblem, DutyVerdict, LinkFacts, Row, Table, highest_fitting_step, is_plainly_allowed, judge_duty,
};
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::radio::{Sender, emission, link_facts, sending};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((region, table)) = setup.region().and_then(|region| Some((region, region.table?))) else { return };
    for sender in setup.senders() {
        let module = sender.bay.module;
        let (Some(link), Some(power)) = (link_facts(setup, &sender), module.power) else { continue };
        let sent = emission(setup, &sender, power.value.1.to_f64());
        if is_plainly_allowed(table, &link, &sent) {
            continue;
        }
        let DutyVerdict::Breach(breaches) = judge_duty(table, &link, &sent) else { continue };
        let Some((row, problems)) = breaches.first() else { continue };
        let place = module.update_rate.map_or(power.span, |rate| rate.span);
        let message = format!("In {} {}.", region_words(&region), all(problems, row));
        let finding = out.find_text(setup.in_model(place), message);
        finding.other(region.site.head.place(region.name.span), "the region");
        if let Some(adaptive) = sender.link.adaptive.filter(|adaptive| !adaptive.value) {
            finding.other(sender.link.head.place(adaptive.span), "the link does not listen before it talks");
        }
        let help = help(setup, &sender, table, &link);
        finding.mend_words(match help.is_empty() {
            true => format!("Nothing that is stated of this link keeps to it. Ask the regulator: {}.", table.regulator),
            false => format!("What keeps to it: {}.", help.join("; or ")),
        });
    }
}

/// What of a row's limits on time is passed.
fn all(problems: &[AirProblem], row: &Row) -> String {
    let words: Vec<String> = problems.iter().map(|problem| one(problem, row)).collect();
    format!("{} ({})", words.join(", and "), source(row))
}

fn one(problem: &AirProblem, row: &Row) -> String {
    let is = is(row.certainty);
    let percent = |share: f64| format!("{} %", figure(share * 100.0, if share < 0.1 { 2 } else { 1 }));
    match *problem {
        AirProblem::Duty { is: own, most } => {
            format!("the largest share of time on air {is} {}, and this link sends for {}", percent(most), percent(own))
        }
        AirProblem::MediumUtilisation { is: own, most } => format!(
            "the largest medium utilisation {is} {}, and this link has {} at its power",
            percent(most),
            percent(own)
        ),
        AirProblem::Sequence { is_ms, most_ms } => format!(
            "the longest time on air in one go {is} {} ms, and this link sends for {} ms",
            figure(most_ms, 2),
            figure(is_ms, 2)
        ),
        AirProblem::Gap { is_ms, least_ms } => format!(
            "the shortest silence between two updates {is} {} ms, and this link is silent for {} ms",
            figure(least_ms, 2),
            figure(is_ms, 2)
        ),
        AirProblem::NotListening => {
            format!("listening before talking {is} required, and this link does not listen")
        }
    }
}

/// What would keep to the region's limits on time: another update rate, another power step, a link that listens.
fn help(setup: &Setup<'_>, sender: &Sender<'_>, table: &Table, link: &LinkFacts) -> Vec<String> {
    let Some(power) = sender.bay.module.power else { return Vec::new() };
    let emission = emission(setup, sender, power.value.1.to_f64());
    let keeps = |link: &LinkFacts| matches!(judge_duty(table, link, &emission), DutyVerdict::Within);
    let mut help = Vec::new();
    let slower = sender.link.update_rates.iter().map(|rate| rate.value).filter(|rate| {
        let at_rate = sending(sender, Some(rate.to_f64()));
        keeps(&LinkFacts { sending: at_rate, ..*link })
    });
    if let Some(rate) = slower.max() {
        help.push(format!("an update rate of {rate} Hz"));
    }
    let steps: Vec<f64> = sender.hardware.power.iter().map(|step| step.value.to_f64()).collect();
    let below: Vec<f64> = steps.into_iter().filter(|step| *step < power.value.1.to_f64()).collect();
    if let Some(step) = highest_fitting_step(table, link, &emission, &below).filter(|step| step.certain) {
        help.push(format!("a power of {} mW", figure(step.power_mw, 3)));
    }
    if link.adaptive != Some(true) && keeps(&LinkFacts { adaptive: Some(true), ..*link }) {
        help.push("a link that listens before it talks".to_owned());
    }
    help
}
