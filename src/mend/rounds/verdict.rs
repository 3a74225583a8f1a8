//! Whether a round of mends is kept.

use crate::findings::outcome::Outcome;
use crate::findings::{Choice, Finding, RuleId, Severity, group_of};
use crate::source::{FileId, Place, Span};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};

/// Whether a round may bring a danger that was not there.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Careful {
    Always,
    /// The pilot was told, and wants it all the same.
    Told,
}

/// Why a round is not kept.
pub(super) enum Bad {
    /// It would bring a danger of this rule, in words.
    Danger(RuleId, String),
    /// Any other reason, in words.
    Other(String),
}

/// By what a finding is known again.
pub(super) type Key = (RuleId, u64);

pub(super) fn key(finding: &Finding) -> Key {
    (finding.rule, finding.fingerprint)
}

/// A mend that is to be done.
#[derive(Clone, Debug)]
pub(super) struct Pick {
    pub(super) key: Key,
    pub(super) place: Place,
    pub(super) fault: bool,
    pub(super) aircraft: Vec<CompactString>,
    pub(super) choice: Choice,
    /// The lines that it touches, as they are before the round and after it.
    pub(super) lines: (Span, Span),
}

impl Pick {
    pub(super) fn new(finding: &Finding, choice: &Choice) -> Self {
        let fault = finding.severity == Severity::Fault;
        let aircraft = finding.aircraft.clone();
        let lines = (finding.place.span, finding.place.span);
        Self { key: key(finding), place: finding.place, fault, aircraft, choice: choice.clone(), lines }
    }

    /// A fault in the lines that it touches, where they have as many afterwards as before, though one was to go.
    fn leaves<'o>(&self, before: &Outcome, after: &'o Outcome) -> Option<&'o Finding> {
        let in_lines = |one: &&Finding, lines: Span| {
            one.severity == Severity::Fault && one.place.file == self.place.file && lines.holds(one.place.span)
        };
        let had = before.findings.iter().filter(|one| in_lines(one, self.lines.0)).count();
        let mut has = after.findings.iter().filter(|one| in_lines(one, self.lines.1));
        has.nth(had.max(1) - 1)
    }
}

/// A round that is not kept.
pub(super) struct Rejected {
    /// Why.
    pub(super) bad: Bad,
    /// The numbers of the mends that are likely to be to blame; all of them where that is not clear.
    pub(super) blamed: Vec<usize>,
    /// Whether each of those concerns an aircraft that is worse off.
    pub(super) certain: bool,
}

/// Whether a round did what it should: what was found before it, held against what is found after it. What is `known`
/// and left out counts as found.
pub(super) fn judge(before: &Outcome, picks: &[&Pick], careful: Careful, after: &Outcome) -> Result<(), Rejected> {
    let faults = |outcome: &Outcome| outcome.findings.iter().filter(|one| one.severity == Severity::Fault).count();
    let (had, has) = (faults(before), faults(after));
    if has > had {
        let new = news(before, after, Severity::Fault);
        let fault = new.first().map_or_else(String::new, |finding| in_words(finding));
        let bad = Bad::Other(format!("it would bring a new fault: {fault}"));
        return Err(blame(bad, picks, &new));
    }
    // A statement that can be read again may show a danger that was there all the time.
    if has == had && careful == Careful::Always {
        let new = news(before, after, Severity::Danger);
        if let Some(danger) = new.first() {
            return Err(blame(Bad::Danger(danger.rule, in_words(danger)), picks, &new));
        }
    }
    let leaves = picks.iter().enumerate().filter(|(_, pick)| pick.fault);
    let leaves: Vec<(usize, &Finding)> =
        leaves.filter_map(|(number, pick)| Some((number, pick.leaves(before, after)?))).collect();
    if let Some((_, fault)) = leaves.first() {
        let bad = Bad::Other(format!("it would leave a fault in its line: {}", in_words(fault)));
        return Err(Rejected { bad, blamed: leaves.iter().map(|(number, _)| *number).collect(), certain: true });
    }
    let keys: FxHashSet<Key> = after.findings.iter().map(key).collect();
    let (had, has) = (counts(&before.findings), counts(&after.findings));
    let stays = |pick: &Pick| {
        let of = (pick.key.0, pick.place.file);
        keys.contains(&pick.key) && has.get(&of) >= had.get(&of)
    };
    let stay = picks.iter().enumerate().filter(|(_, pick)| stays(pick));
    let blamed: Vec<usize> = stay.map(|(number, _)| number).collect();
    match blamed.is_empty() {
        true => Ok(()),
        false => {
            let bad = Bad::Other("it would not take the finding away".to_owned());
            Err(Rejected { bad, blamed, certain: true })
        }
    }
}

/// How many findings of each rule there are in each file.
fn counts(findings: &[Finding]) -> FxHashMap<(RuleId, FileId), usize> {
    let mut counts = FxHashMap::default();
    findings.iter().for_each(|finding| *counts.entry((finding.rule, finding.place.file)).or_default() += 1);
    counts
}

/// What of this severity is found after that was not before, by rule and aircraft.
fn news<'o>(before: &Outcome, after: &'o Outcome, severity: Severity) -> Vec<&'o Finding> {
    fn kinds(finding: &Finding) -> impl Iterator<Item = (RuleId, Option<&CompactString>)> {
        let none = finding.aircraft.is_empty().then_some(None);
        finding.aircraft.iter().map(Some).chain(none).map(|aircraft| (finding.rule, aircraft))
    }
    let of = |finding: &&Finding| finding.severity == severity;
    let known: FxHashSet<_> = before.findings.iter().chain(&before.known).filter(of).flat_map(kinds).collect();
    let new = after.findings.iter().filter(of).filter(|finding| kinds(finding).any(|kind| !known.contains(&kind)));
    let mut new: Vec<&Finding> = new.collect();
    if new.is_empty() && severity == Severity::Fault {
        new.extend(after.findings.iter().rfind(of));
    }
    new
}

/// Blames the mends that touch the aircraft or the files of what is new.
fn blame(bad: Bad, picks: &[&Pick], new: &[&Finding]) -> Rejected {
    let aircraft: FxHashSet<&CompactString> = new.iter().flat_map(|finding| &finding.aircraft).collect();
    let files: FxHashSet<FileId> = new.iter().map(|finding| finding.place.file).collect();
    let concerns = |pick: &Pick| pick.aircraft.iter().any(|name| aircraft.contains(name));
    let touches = |pick: &Pick| concerns(pick) || pick.choice.edits.iter().any(|edit| files.contains(&edit.place.file));
    let numbered = || picks.iter().enumerate();
    let mut blamed: Vec<usize> = numbered().filter(|(_, pick)| touches(pick)).map(|(number, _)| number).collect();
    if blamed.is_empty() {
        blamed = (0..picks.len()).collect();
    }
    // A mend of the same group of rules is the likelier cause: a number that was changed gives a number that stands twice.
    let akin = |number: &usize| {
        let group = picks.get(*number).map(|pick| group_of(pick.key.0));
        new.iter().any(|finding| Some(group_of(finding.rule)) == group)
    };
    if blamed.iter().any(akin) {
        blamed.retain(akin);
    }
    let certain = numbered().all(|(number, pick)| concerns(pick) || blamed.binary_search(&number).is_err());
    Rejected { bad, blamed, certain }
}

fn in_words(finding: &Finding) -> String {
    format!("{}: {}", finding.rule, finding.message)
}
