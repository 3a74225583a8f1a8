//! What an inspection comes to.

use super::coverage::Coverage;
use super::known::{Entry, Known};
use super::verdict::AircraftVerdict;
use super::{Finding, RuleId, Severity};
use crate::fleet::day::Day;
use crate::source::Place;
use compact_str::CompactString;

/// A finding that a waiver covers.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Waived {
    /// Its rule.
    pub rule: RuleId,
    /// How bad its rule says that it is.
    pub severity: Severity,
    /// What it said.
    pub message: String,
    /// Where it is.
    pub place: Place,
    /// The aircraft that it concerns.
    pub aircraft: Vec<CompactString>,
    /// Why the waiver accepts it.
    pub reason: String,
    /// The last day on which the waiver counts.
    pub until: Option<Day>,
}

/// What an inspection found.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Outcome {
    /// The findings in the order in which they are read.
    pub findings: Vec<Finding>,
    /// A verdict for each aircraft, the worst first.
    pub aircraft: Vec<AircraftVerdict>,
    /// The findings that were known.
    pub known: Vec<Finding>,
    /// The numbers of entries of the record that no finding has, and whether the rule of each was asked and found all its
    /// answers, so that the entry can be blamed.
    pub unmatched: Vec<(usize, bool)>,
    /// The findings that waivers cover.
    pub waived: Vec<Waived>,
    /// How each rule ended for each aircraft.
    pub coverage: Coverage,
}

impl Outcome {
    /// The entries of the record that match nothing though this inspection would have met their findings: their rules were asked, and
    /// `is_met` says whether the file of an entry was inspected, or is gone.
    pub fn stale(&self, known: &Known, is_met: impl Fn(&Entry) -> bool) -> Vec<Entry> {
        let unmatched = self.unmatched.iter().filter(|(_, answered)| *answered);
        let entries = unmatched.filter_map(|(number, _)| known.entries.get(*number));
        entries.filter(|entry| is_met(entry)).cloned().collect()
    }

    /// Leaves out findings and aircraft that nobody wants to read of now. All of them were asked about, so that what stays says
    /// what it would say among the others. How many findings went is given back.
    pub fn narrow(&mut self, wanted: &dyn Fn(&Finding) -> bool, aircraft: &dyn Fn(&str) -> bool) -> usize {
        let before = self.findings.len();
        self.findings.retain(wanted);
        self.known.retain(wanted);
        self.aircraft.retain(|verdict| aircraft(&verdict.name));
        self.coverage.retain(aircraft);
        before - self.findings.len()
    }
}
