//! `walkaround.toml`: which files belong to the fleet, how rules are graded, their parameters, and some defaults.
//!
//! ```toml
//! include = ["fleet/**"]
//! exclude = ["retired"]            # globs, relative to the settings file; a folder stands for all in it
//! fail-at = "danger"
//! place = "north spit"
//! known = "known-findings.toml"
//!
//! [tested]
//! failsafe = "90 days"
//!
//! [severity]
//! alarms = "note"                  # a group
//! "arming/slow" = "off"            # or one rule
//!
//! [parameters]
//! "arming/slow" = { far-after = "400 ms" }
//! ```

#[cfg(feature = "command-line")]
pub mod disk;
mod globs;
pub mod options;
mod read;
pub mod reference;

pub use globs::Globs;
pub use read::{Check, MAX_RECORD_BYTES, RECORD_VERSION, RULE, read, read_record, unreadable_record};

use crate::findings::grading::Grade;
use crate::findings::{RuleId, Severity};
use crate::fleet::words::Tested;
use crate::source::Located;

/// The name of the settings file.
pub const FILE_NAME: &str = "walkaround.toml";

/// What a settings file says.
#[derive(Debug, Default)]
pub struct Settings {
    /// Which files belong to the fleet.
    pub globs: Globs,
    /// The least severity that makes the exit status 1.
    pub fail_at: Option<Severity>,
    /// The place of models that name none.
    pub place: Option<Located<String>>,
    /// A file of findings that are known, relative to the settings file.
    pub known: Option<Located<String>>,
    /// What each aircraft is to be tested for, with how many days later again.
    pub tested: Vec<(Tested, u16)>,
    /// Rules or groups with the grade they get.
    pub grades: Vec<(String, Grade)>,
    /// Parameters that differ from their default.
    pub parameters: Vec<Parameter>,
}

/// A parameter of a rule, as the settings file sets it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Parameter {
    /// The rule.
    pub rule: RuleId,
    /// The parameter's name in the rule book.
    pub name: &'static str,
    /// Its value, with its unit.
    pub value: Located<String>,
}

impl Settings {
    /// The name of the file of known findings below the folder of the settings file.
    pub fn known_name(&self) -> Option<&str> {
        let name = self.known.as_ref()?.value.as_str();
        Some(name.strip_prefix("./").unwrap_or(name))
    }

    /// The value that the settings give a rule's parameter.
    pub fn parameter(&self, rule: &str, name: &str) -> Option<&Located<String>> {
        self.parameters.iter().find(|one| one.rule == rule && one.name == name).map(|one| &one.value)
    }
}
