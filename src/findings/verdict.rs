//! One word an aircraft, and the counts behind it.

use super::caution::Caution;
use super::{Finding, Severity};
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::cmp::Reverse;

/// What the whole inspection says about one aircraft, from the best to the worst. There is no word for "safe": where
/// nothing was found, nothing was found.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Verdict {
    /// No rule found anything.
    NothingFound,
    /// What was found had been recorded as known.
    NothingNew,
    /// What was found is waived.
    Waived,
    /// Not all rules were to be asked, and those that were found nothing.
    NothingOfThese,
    /// No bay of its models is on.
    NoModule,
    /// No model flies it.
    NotFlown,
    /// Something else in its file, or in a model's that flies it, can't be understood.
    FaultBeside,
    /// Something untidy.
    Note,
    /// It can be lost or will not work.
    Caution,
    /// It can hurt someone, or breaks a law.
    Danger,
    /// A rule could not answer: the budget of the analysis ran out.
    NotDecided,
    /// Its description can't be understood.
    NotUnderstood,
}

impl Verdict {
    /// The words that every output uses.
    pub const fn words(self) -> &'static str {
        match self {
            Self::NothingFound => "nothing found",
            Self::NothingNew => "nothing new",
            Self::Waived => "all that was found is waived",
            Self::NothingOfThese => "nothing found by the rules asked",
            Self::NoModule => "no module is on",
            Self::NotFlown => "no model flies it",
            Self::FaultBeside => "a fault beside it",
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Danger => "danger",
            Self::NotDecided => "not decided",
            Self::NotUnderstood => "not understood",
        }
    }
}

/// How many findings of each kind. A question that was not decided counts as one, and not with its severity.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct Counts {
    /// Findings that are faults.
    pub fault: usize,
    /// Findings that are dangers.
    pub danger: usize,
    /// Findings that are cautions.
    pub caution: usize,
    /// Findings that are notes.
    pub note: usize,
    /// Questions without an answer.
    pub not_decided: usize,
}

impl Counts {
    /// Counts one more.
    pub fn add(&mut self, finding: &Finding) {
        let count = match finding.severity {
            _ if finding.rule == NOT_DECIDED => &mut self.not_decided,
            Severity::Fault => &mut self.fault,
            Severity::Danger => &mut self.danger,
            Severity::Caution => &mut self.caution,
            Severity::Note => &mut self.note,
        };
        *count += 1;
    }

    /// Counts all of them.
    pub fn of<'f>(findings: impl IntoIterator<Item = &'f Finding>) -> Self {
        let mut counts = Self::default();
        findings.into_iter().for_each(|finding| counts.add(finding));
        counts
    }

    /// The worst that was counted.
    pub const fn verdict(&self) -> Verdict {
        match self {
            Self { fault: 1.., .. } => Verdict::NotUnderstood,
            Self { not_decided: 1.., .. } => Verdict::NotDecided,
            Self { danger: 1.., .. } => Verdict::Danger,
            Self { caution: 1.., .. } => Verdict::Caution,
            Self { note: 1.., .. } => Verdict::Note,
            _ => Verdict::NothingFound,
        }
    }
}

/// The rule under which a question without an answer is reported.
pub const NOT_DECIDED: &str = "format/not-decided";

/// One aircraft and what was found about it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct AircraftVerdict {
    /// Its name.
    pub name: CompactString,
    /// The findings that concern it.
    pub counts: Counts,
    /// The word for them.
    pub verdict: Verdict,
    /// How many findings about it are known, and not counted.
    pub known: usize,
    /// What has to be done with it before a check on the bench.
    pub caution: Caution,
}

/// The verdict of each of `aircraft`, which come in the order of their names; the worst first and then by name. Findings that are `known` have no say in it, but
/// where there is nothing else the verdict tells of them. `unearned` gives the word for an aircraft of which
/// nothing was found, where that says less than it seems to. The cautions are those of an aircraft with propellers.
pub fn verdicts<'a>(
    aircraft: impl IntoIterator<Item = &'a CompactString>,
    findings: &[Finding],
    known: &[Finding],
    unearned: &dyn Fn(&str) -> Option<Verdict>,
) -> Vec<AircraftVerdict> {
    let mut counts: FxHashMap<&str, (Counts, usize)> = FxHashMap::default();
    for name in known.iter().flat_map(|finding| &finding.aircraft) {
        counts.entry(name).or_default().1 += 1;
    }
    for finding in findings {
        for name in &finding.aircraft {
            counts.entry(name).or_default().0.add(finding);
        }
    }
    let mut verdicts: Vec<AircraftVerdict> = aircraft
        .into_iter()
        .map(|name| {
            let (counts, known) = counts.get(name.as_str()).copied().unwrap_or_default();
            let verdict = match counts.verdict() {
                Verdict::NothingFound => match unearned(name) {
                    None | Some(Verdict::Waived) if known > 0 => Verdict::NothingNew,
                    Some(word) => word,
                    None => Verdict::NothingFound,
                },
                verdict => verdict,
            };
            AircraftVerdict { name: name.clone(), counts, verdict, known, caution: Caution::default() }
        })
        .collect();
    verdicts.sort_by_key(|aircraft| Reverse(aircraft.verdict));
    verdicts
}

#[cfg(test)]
mod tests {
    use super::super::tests::finding;
    use super::*;

    #[test]
    fn the_worst_first() {
        let about = |rule, severity, aircraft: &[&str]| Finding {
            severity,
            aircraft: aircraft.iter().map(|&name| name.into()).collect(),
            ..finding(rule, 0, 0, "")
        };
        let findings = [
            about("arming/slow", Severity::Note, &["knot", "plover"]),
            about("arming/never", Severity::Caution, &["plover"]),
            about("arming/always", Severity::Danger, &["dunlin", "curlew"]),
            about(NOT_DECIDED, Severity::Caution, &["curlew"]),
            about("format/unit", Severity::Fault, &["godwit"]),
            about("arming/always", Severity::Danger, &["of no list"]),
        ];
        let names: Vec<CompactString> =
            ["avocet", "curlew", "dunlin", "godwit", "knot", "plover", "redshank", "ruff"].map(Into::into).to_vec();
        let known = [about("arming/slow", Severity::Danger, &["ruff", "knot"])];
        let words: Vec<_> =
            verdicts(&names, &findings, &known, &|name| (name == "redshank").then_some(Verdict::NotFlown))
                .iter()
                .map(|aircraft| format!("{}: {}", aircraft.name, aircraft.verdict.words()))
                .collect();
        let wanted = [
            "godwit: not understood",
            "curlew: not decided",
            "dunlin: danger",
            "plover: caution",
            "knot: note",
            "redshank: no model flies it",
            "ruff: nothing new",
            "avocet: nothing found",
        ];
        assert_eq!(words, wanted);
        let counts = Counts::of(&findings);
        assert_eq!(counts, Counts { fault: 1, danger: 2, caution: 1, note: 1, not_decided: 1 });
    }
}
