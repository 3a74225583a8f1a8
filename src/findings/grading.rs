//! Which rules are asked, and how bad their findings count: what the settings file and the command line say about it.

use super::{Finding, Severity, group_of, is_protected};
use globset::{Glob, GlobSet, GlobSetBuilder};
use rustc_hash::FxHashMap;

/// What the settings make of a rule's findings.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Grade {
    /// Every finding counts as this.
    As(Severity),
    /// The rule is not asked.
    Off,
}

/// The rules that are asked, and grades other than their own. Faults and what is wrong with a waiver are always asked
/// and keep their severity.
#[derive(Clone, Debug, Default)]
pub struct Grading {
    only: Option<GlobSet>,
    except: GlobSet,
    grades: FxHashMap<String, Grade>,
}

impl Grading {
    /// Asks only rules that one of `only` matches (all if there is none), without those that one of `except` matches.
    /// A glob like `arming/*` matches rule names; a bare group name stands for all of its rules.
    ///
    /// # Errors
    /// The first text that is no glob, with the reason.
    pub fn new(only: &[String], except: &[String]) -> Result<Self, NoGlob> {
        let only = if only.is_empty() { None } else { Some(set_of(only)?) };
        Ok(Self { only, except: set_of(except)?, grades: FxHashMap::default() })
    }

    /// Grades a rule (`arming/slow`) or a whole group (`arming`); a rule's own grade goes before its group's.
    pub fn grade(&mut self, rule_or_group: &str, grade: Grade) {
        self.grades.insert(rule_or_group.to_owned(), grade);
    }

    /// Whether a rule is asked.
    pub fn asks(&self, rule: &str) -> bool {
        is_protected(rule)
            || (self.only.as_ref().is_none_or(|set| set.is_match(rule))
                && !self.except.is_match(rule)
                && self.grade_of(rule) != Some(Grade::Off))
    }

    /// What a finding of this rule counts as, where the rule itself says `own`; none where the rule is not asked.
    pub fn severity(&self, rule: &str, own: Severity) -> Option<Severity> {
        match self.grade_of(rule) {
            _ if !self.asks(rule) => None,
            Some(Grade::As(severity)) if own != Severity::Fault && !is_protected(rule) => Some(severity),
            _ => Some(own),
        }
    }

    /// Drops the findings of rules that are not asked and grades the rest.
    pub fn apply(&self, findings: &mut Vec<Finding>) {
        if self.only.is_none() && self.except.is_empty() && self.grades.is_empty() {
            return;
        }
        findings.retain_mut(|finding| match self.severity(finding.rule, finding.severity) {
            Some(severity) => {
                finding.severity = severity;
                true
            }
            None => finding.severity == Severity::Fault,
        });
    }

    fn grade_of(&self, rule: &str) -> Option<Grade> {
        self.grades.get(rule).or_else(|| self.grades.get(group_of(rule))).copied()
    }
}

/// A text that should be a glob over rule names and is none.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("`{glob}` is no pattern for rule names: {reason}")]
pub struct NoGlob {
    /// The text.
    pub glob: String,
    /// What is wrong with it.
    pub reason: String,
}

fn set_of(globs: &[String]) -> Result<GlobSet, NoGlob> {
    let refused =
        |glob: &str, error: globset::Error| NoGlob { glob: glob.to_owned(), reason: error.kind().to_string() };
    let mut set = GlobSetBuilder::new();
    for glob in globs {
        set.add(Glob::new(glob).map_err(|error| refused(glob, error))?);
        if !glob.contains('/') {
            set.add(Glob::new(&format!("{glob}/*")).map_err(|error| refused(glob, error))?);
        }
    }
    set.build().map_err(|error| refused("", error))
}

#[cfg(test)]
mod tests {
    use super::super::tests::finding;
    use super::*;

    fn globs(texts: &[&str]) -> Vec<String> {
        texts.iter().map(|text| (*text).to_owned()).collect()
    }

    #[test]
    fn which_rules_are_asked() {
        for (only, except, rule, asked) in [
            (&[][..], &[][..], "arming/slow", true),
            (&["arming/*"], &[], "arming/slow", true),
            (&["arming"], &[], "arming/slow", true),
            (&["arming"], &[], "throttle/jump", false),
            (&["arming", "throttle/j*"], &[], "throttle/jump", true),
            (&[], &["*/slow"], "arming/slow", false),
            (&["arming/*"], &["arming/slow"], "arming/slow", false),
            (&["arming/*"], &["*"], "format/syntax", true),
            (&["arming/*"], &["format", "house/*"], "house/waiver-bare", true),
            (&[], &["house/*"], "house/secret", false),
        ] {
            let grading = Grading::new(&globs(only), &globs(except)).unwrap();
            assert_eq!(grading.asks(rule), asked, "{only:?} {except:?} {rule}");
        }
        assert_eq!(Grading::new(&globs(&["arming/["]), &[]).unwrap_err().glob, "arming/[");
    }

    #[test]
    fn grades_never_touch_what_is_protected() {
        use Severity::{Caution, Danger, Fault, Note};
        let mut grading = Grading::default();
        grading.grade("arming", Grade::As(Note));
        grading.grade("arming/slow", Grade::As(Danger));
        grading.grade("alarms", Grade::Off);
        grading.grade("format", Grade::Off);
        grading.grade("house", Grade::As(Danger));
        for (rule, own, severity) in [
            ("arming/never", Caution, Some(Note)),
            ("arming/slow", Caution, Some(Danger)),
            ("alarms/timer-long", Caution, None),
            ("channels/gap", Caution, Some(Caution)),
            ("format/unit", Fault, Some(Fault)),
            ("format/not-decided", Caution, Some(Caution)),
            ("house/waiver-stale", Note, Some(Note)),
            ("house/secret", Caution, Some(Danger)),
        ] {
            assert_eq!(grading.severity(rule, own), severity, "{rule}");
        }
        let mut findings = vec![finding("alarms/timer-long", 0, 0, ""), finding("arming/never", 0, 0, "")];
        grading.apply(&mut findings);
        assert_eq!(findings.iter().map(|f| (f.rule, f.severity)).collect::<Vec<_>>(), [("arming/never", Note)]);
    }
}
