//! Whether a round of mends is kept.

use crate::findings::{Choice, Finding, RuleId, Severity};
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashSet;

/// Whether a round may bring a danger that was not there.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Careful {
    Always,
    /// The pilot was told, and wants it all the same.
    Told,
}

/// Why a round is not kept.
pub(super) enum Bad {
    /// It would bring a danger.
    Danger(String),
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
    pub(super) choice: Choice,
}

impl Pick {
    pub(super) fn new(finding: &Finding, choice: &Choice) -> Self {
        let fault = finding.severity == Severity::Fault;
        Self { key: key(finding), place: finding.place, fault, choice: choice.clone() }
    }
}

/// Whether a round did what it should: what was found before it, held against what is found after it.
pub(super) fn judge(before: &[Finding], picks: &[&Pick], careful: Careful, after: &[Finding]) -> Result<(), Bad> {
    let faults = |findings: &[Finding]| findings.iter().filter(|one| one.severity == Severity::Fault).count();
    let (had, has) = (faults(before), faults(after));
    if has > had {
        let fault = news(before, after, Severity::Fault);
        return Err(Bad::Other(format!("it would bring a new fault: {fault}")));
    }
    // A statement that can be read again may show a danger that was there all the time.
    if has == had && careful == Careful::Always {
        let danger = news(before, after, Severity::Danger);
        if !danger.is_empty() {
            return Err(Bad::Danger(danger));
        }
    }
    let count = |findings: &[Finding], pick: &Pick| {
        findings.iter().filter(|one| one.rule == pick.key.0 && one.place.file == pick.place.file).count()
    };
    let stays =
        |pick: &Pick| after.iter().any(|finding| key(finding) == pick.key) && count(after, pick) >= count(before, pick);
    match picks.iter().any(|pick| stays(pick)) {
        true => Err(Bad::Other("it would not take the finding away".to_owned())),
        false => Ok(()),
    }
}

/// What of this severity is found after that was not before, by rule and aircraft: the first, in words.
fn news(before: &[Finding], after: &[Finding], severity: Severity) -> String {
    fn kinds(finding: &Finding) -> impl Iterator<Item = (RuleId, Option<&CompactString>)> {
        let none = finding.aircraft.is_empty().then_some(None);
        finding.aircraft.iter().map(Some).chain(none).map(|aircraft| (finding.rule, aircraft))
    }
    let of = |finding: &&Finding| finding.severity == severity;
    let known: FxHashSet<_> = before.iter().filter(of).flat_map(kinds).collect();
    let new = after.iter().filter(of).find(|finding| kinds(finding).any(|kind| !known.contains(&kind)));
    let new = new.or_else(|| after.iter().rfind(of).filter(|_| severity == Severity::Fault));
    new.map_or_else(String::new, |finding| format!("{}: {}", finding.rule, finding.message))
}
