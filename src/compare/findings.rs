//! The findings of one side alone.

use super::statements::Renames;
use crate::findings::{Finding, Severity};
use rustc_hash::FxHashSet;
use std::cmp::Reverse;

/// A finding that came or went.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Told {
    /// How bad it is.
    pub severity: Reverse<Severity>,
    /// Its rule.
    pub rule: &'static str,
    /// What it says.
    pub message: String,
    /// The aircraft that it concerns.
    pub aircraft: Vec<String>,
}

/// The findings of one side alone: what came, and what went. One whose words differ in renamed things alone is the same.
pub(super) fn came_and_went(old: &[Finding], new: &[Finding], renamed: &Renames) -> (Vec<Told>, Vec<Told>) {
    let known: FxHashSet<(&str, u64)> = old.iter().map(|finding| (finding.rule, finding.fingerprint)).collect();
    let now: FxHashSet<(&str, u64)> = new.iter().map(|finding| (finding.rule, finding.fingerprint)).collect();
    let is_in = |side: &FxHashSet<(&str, u64)>, it: &Finding| side.contains(&(it.rule, it.fingerprint));
    let mut came: Vec<Told> = new.iter().filter(|it| !is_in(&known, it)).map(told).collect();
    let mut went: Vec<Told> = old.iter().filter(|it| !is_in(&now, it)).map(told).collect();
    // The words around a finding may be others, and the finding the same.
    went.retain(|one| {
        let renamed = Told {
            message: renamed.in_words(&one.message),
            aircraft: one.aircraft.iter().map(|name| renamed.in_words(name)).collect(),
            ..one.clone()
        };
        match came.iter().position(|other| *other == renamed) {
            Some(at) => {
                came.swap_remove(at);
                false
            }
            None => true,
        }
    });
    came.sort();
    went.sort();
    (came, went)
}

fn told(finding: &Finding) -> Told {
    Told {
        severity: Reverse(finding.severity),
        rule: finding.rule,
        message: finding.message.clone(),
        aircraft: finding.aircraft.iter().map(ToString::to_string).collect(),
    }
}
