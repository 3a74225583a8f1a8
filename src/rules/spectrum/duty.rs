//! `spectrum/duty`: the handset is on the air for more of the time than the region allows, or does not listen first.

use super::{is, region, source};
use crate::findings::fact::{Amount, Fact, Unit, amount, fill, share};
use crate::radio::regions::AirProblem;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::lawful::Keeps;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for ruled in setup.ruled() {
        let module = ruled.sender.bay.module;
        let (Some((row, problems)), Some(power)) = (ruled.too_long(), module.power) else { continue };
        let place = setup.in_model(module.update_rate.map_or(power.span, |rate| rate.span));
        let said: Vec<_> = problems.iter().map(said).collect();
        let mut facts = vec![is(row.certainty), region(&ruled.region), source(row)];
        let sentences: Vec<&str> = said.iter().map(|(_, sentence, _)| *sentence).collect();
        let sentence = ["In {region} ", &sentences.join(", and "), " ({source})."].concat();
        let key = said.first().map_or("time", |(key, ..)| *key);
        facts.extend(said.into_iter().flat_map(|(.., facts)| facts));
        let finding = out.find(place, key, &sentence, facts);
        finding.other(ruled.region.site.head.place(ruled.region.name.span), "the region");
        if let Some(adaptive) = ruled.sender.link.adaptive.filter(|adaptive| !adaptive.value) {
            finding.other(ruled.sender.link.head.place(adaptive.span), "the link does not listen before it talks");
        }
        let keeps: Vec<_> = ruled.keeping_time().iter().map(words).collect();
        finding.mend_words(match keeps.is_empty() {
            true => {
                format!(
                    "Nothing that is stated of this link keeps to it. Ask the regulator: {}.",
                    ruled.table.regulator
                )
            }
            false => format!("What keeps to it: {}.", keeps.join("; or ")),
        });
    }
}

/// A limit on time that is passed: which one, in words, and their facts.
fn said(problem: &AirProblem) -> (&'static str, &'static str, Vec<Fact>) {
    let ms = |name, time| amount(name, Amount::Computed(time, 2), Unit::Ms);
    match *problem {
        AirProblem::Duty { is, most } => (
            "time",
            "the largest share of time on air {is} {most-time}, and this link sends for {time}",
            vec![share("most-time", most), share("time", is)],
        ),
        AirProblem::MediumUtilisation { is, most } => (
            "utilisation",
            "the largest medium utilisation {is} {most-utilisation}, and this link has {utilisation} at its power",
            vec![share("most-utilisation", most), share("utilisation", is)],
        ),
        AirProblem::Sequence { is_ms, most_ms } => (
            "sequence",
            "the longest time on air in one go {is} {longest}, and this link sends for {sequence}",
            vec![ms("longest", most_ms), ms("sequence", is_ms)],
        ),
        AirProblem::Gap { is_ms, least_ms } => (
            "gap",
            "the shortest silence between two updates {is} {shortest}, and this link is silent for {gap}",
            vec![ms("shortest", least_ms), ms("gap", is_ms)],
        ),
        AirProblem::NotListening => {
            ("listening", "listening before talking {is} required, and this link does not listen", Vec::new())
        }
    }
}

fn words(keeps: &Keeps) -> String {
    match *keeps {
        Keeps::Rate(rate) => fill("an update rate of {rate}", &[amount("rate", rate, Unit::Hz)]),
        Keeps::Power(step) => fill("a power of {step}", &[amount("step", step, Unit::Mw)]),
        Keeps::Listening => "a link that listens before it talks".to_owned(),
    }
}
