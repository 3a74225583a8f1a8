//! The report as a log of the Static Analysis Results Interchange Format (SARIF) 2.1.0, an OASIS standard that code hosts
//! and editors read. Section numbers in this folder are those of its text with Errata 01.
//!
//! A fault and a danger have the level `error`, a caution `warning`, a note `note`; `properties.severity` keeps the
//! program's own word. Columns count Unicode code points; a byte-order mark counts in `byteOffset` and nowhere else, as
//! section 3.30.2 asks. Every text is made plain but the inserted text of a fix, which is exact.

mod address;
mod fixes;
mod rules;
mod shape;

pub use address::address;

use super::Report;
use super::json::to_writer;
use super::places::Places;
use std::io::{self, Write};

/// Writes the report and a line end. The paths of the report are best relative to the current folder; one that is
/// absolute becomes a `file` address.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    to_writer(&shape::Log::of(report, &Places::of(report)), out)
}
