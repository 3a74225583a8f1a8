//! What an inspection comes to.

use super::coverage::Coverage;
use super::verdict::AircraftVerdict;
use super::{Finding, RuleId};
use crate::source::Place;

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
    pub waived: Vec<(RuleId, Place)>,
    /// How each rule ended for each aircraft.
    pub coverage: Coverage,
}
