//! The forms in which findings leave the program.
//!
//! Each form owns its structs; nothing of the earlier stages is written out as it is. Every text that came from a file
//! goes through [`plain`] on its way out.

pub mod annotations;
#[cfg(feature = "command-line")]
mod bench_words;
pub mod code_quality;
pub mod compare;
pub mod counts;
pub mod coverage;
pub mod json;
pub mod junit;
pub mod lines;
pub mod paint;
mod paragraphs;
pub mod places;
pub mod plain;
pub mod record;
pub mod rule_page;
pub mod sarif;
pub mod sheet;
#[cfg(feature = "command-line")]
pub mod text;
pub mod totals;
pub mod traced;
pub mod verdict;
pub mod witness;
mod words;

use crate::findings::Finding;
use crate::findings::coverage::Coverage;
use crate::findings::known::Entry;
use crate::findings::outcome::{Outcome, Waived};
use crate::findings::verdict::AircraftVerdict;
use crate::source::FileId;
use std::sync::Arc;

/// What an inspection found, ready to be written in any form.
#[derive(Clone, Copy)]
pub struct Report<'r> {
    /// The name of every file, by its number, as it is shown: relative to the current folder, with `/`.
    pub paths: &'r [String],
    /// How many files describe the fleet; `paths` may name others, such as the settings file.
    pub files: usize,
    /// The findings in the order in which they are read.
    pub findings: &'r [Finding],
    /// A verdict for each aircraft, the worst first.
    pub aircraft: &'r [AircraftVerdict],
    /// How each rule ended for each aircraft.
    pub coverage: &'r Coverage,
    /// The findings that are known, and left out.
    pub known: &'r [Finding],
    /// Entries of the record of known findings that match nothing any more.
    pub stale: &'r [Entry],
    /// The findings that waivers cover.
    pub waived: &'r [Waived],
    /// The text of a file; none where it can't be read.
    pub text_of: &'r (dyn Fn(FileId) -> Option<Arc<[u8]>> + Sync),
}

impl<'r> Report<'r> {
    /// The report of an outcome; `paths`, `files` and `text_of` are as in its fields. Nothing of a record is out of date.
    pub fn of(
        outcome: &'r Outcome,
        paths: &'r [String],
        files: usize,
        text_of: &'r (dyn Fn(FileId) -> Option<Arc<[u8]>> + Sync),
    ) -> Self {
        Self {
            paths,
            files,
            findings: &outcome.findings,
            aircraft: &outcome.aircraft,
            coverage: &outcome.coverage,
            known: &outcome.known,
            stale: &[],
            waived: &outcome.waived,
            text_of,
        }
    }

    /// The name of a file.
    pub fn path(&self, file: FileId) -> &'r str {
        self.paths.get(file.0 as usize).map_or("", String::as_str)
    }
}

#[cfg(test)]
pub(crate) mod tests;
