//! Findings that a pilot has recorded, so that later runs speak of new ones only.
//!
//! An entry covers a finding with its fingerprint and its rule, as long as the finding is no worse than it was when it was
//! recorded. Nothing is ever known of what can't be understood, or of what is wrong with a waiver.

use super::{Finding, Severity, is_protected};
use rustc_hash::FxHashMap;

/// One finding of a record.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Entry {
    /// Its file, relative to the folder that the record is about, with `/`. Only people read it, and it says whether a
    /// run could have met the finding; a file that gets another name keeps its findings.
    pub file: String,
    /// Its rule; a record can name one that this version does not have.
    pub rule: String,
    /// What it said, for people.
    pub message: String,
    /// How bad it was.
    pub severity: Severity,
    /// By which it is known again.
    pub fingerprint: u64,
}

/// What is known before an inspection.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Known {
    /// The entries of the record.
    pub entries: Vec<Entry>,
    /// Whether everything that can be known counts as known: when a record is written.
    pub all: bool,
}

/// Findings apart from those that are known.
#[derive(Clone, PartialEq, Default, Debug)]
pub struct Split {
    /// What is left.
    pub findings: Vec<Finding>,
    /// What is known.
    pub known: Vec<Finding>,
    /// The entries that no finding has, by number.
    pub unmatched: Vec<usize>,
}

impl Entry {
    /// The entry for a finding in a file of this name.
    pub fn of(finding: &Finding, file: &str) -> Self {
        Self {
            file: file.to_owned(),
            rule: finding.rule.to_owned(),
            message: finding.message.clone(),
            severity: finding.severity,
            fingerprint: finding.fingerprint,
        }
    }
}

impl Known {
    /// Takes out the findings that are known. They have their fingerprints.
    pub fn split(&self, findings: Vec<Finding>) -> Split {
        if self.entries.is_empty() && !self.all {
            return Split { findings, ..Split::default() };
        }
        let mut by_fingerprint: FxHashMap<u64, Vec<usize>> = FxHashMap::default();
        for (number, entry) in self.entries.iter().enumerate() {
            by_fingerprint.entry(entry.fingerprint).or_default().push(number);
        }
        let mut matched = vec![false; self.entries.len()];
        let mut split = Split::default();
        for finding in findings {
            let mut known = self.all;
            for &number in by_fingerprint.get(&finding.fingerprint).map(Vec::as_slice).unwrap_or_default() {
                let entry = &self.entries[number];
                if entry.rule == finding.rule {
                    // One that got worse is told, and its entry is still not out of date.
                    matched[number] = true;
                    known |= finding.severity <= entry.severity;
                }
            }
            let list = if known && can_be_known(&finding) { &mut split.known } else { &mut split.findings };
            list.push(finding);
        }
        split.unmatched = (0..matched.len()).filter(|&number| !matched[number]).collect();
        split
    }
}

fn can_be_known(finding: &Finding) -> bool {
    finding.severity != Severity::Fault && !is_protected(finding.rule)
}

#[cfg(test)]
mod tests {
    use super::super::tests::finding;
    use super::*;

    fn found(rule: &'static str, severity: Severity, fingerprint: u64) -> Finding {
        Finding { severity, fingerprint, ..finding(rule, 0, 0, "said") }
    }

    #[test]
    fn what_an_entry_covers() {
        use Severity::{Caution, Danger, Fault, Note};
        let slow = Entry::of(&found("arming/slow", Caution, 7), "knot.rig");
        for (rule, severity, fingerprint, known, unmatched) in [
            ("arming/slow", Caution, 7, 1, 0),
            ("arming/slow", Note, 7, 1, 0),
            // It got worse.
            ("arming/slow", Danger, 7, 0, 0),
            // Another finding that happens to have the same number.
            ("arming/never", Caution, 7, 0, 1),
            ("arming/slow", Caution, 8, 0, 1),
            ("arming/slow", Fault, 7, 0, 0),
        ] {
            let split =
                Known { entries: vec![slow.clone()], all: false }.split(vec![found(rule, severity, fingerprint)]);
            assert_eq!((split.known.len(), split.unmatched.len()), (known, unmatched), "{rule} {severity:?}");
            assert_eq!(split.known.len() + split.findings.len(), 1);
        }
    }

    #[test]
    fn nothing_hides_what_is_protected() {
        for (rule, severity) in [
            ("format/not-decided", Severity::Caution),
            ("house/waiver-stale", Severity::Note),
            ("format/unit", Severity::Fault),
            ("house/expect-failed", Severity::Fault),
        ] {
            let finding = found(rule, severity, 7);
            let known = Known { entries: vec![Entry::of(&finding, "")], all: true };
            assert_eq!(known.split(vec![finding.clone()]).findings, [finding], "{rule}");
        }
        let known = Known { entries: Vec::new(), all: true };
        assert_eq!(known.split(vec![found("arming/slow", Severity::Danger, 7)]).known.len(), 1);
    }
}
