//! The report as the list of a code quality check that forges show beside a change: one JSON array with an object a finding.
//!
//! A fault is a `blocker`, a danger `critical`, a caution `major`, a note `minor`.

use super::Report;
use super::json::to_writer;
use super::places::Places;
use super::plain::plain;
use crate::findings::{Severity, fingerprint};
use std::io::{self, Write};

#[derive(serde::Serialize)]
struct One<'r> {
    description: String,
    check_name: &'r str,
    fingerprint: String,
    severity: &'static str,
    location: Location,
}

#[derive(serde::Serialize)]
struct Location {
    path: String,
    lines: Lines,
}

#[derive(serde::Serialize)]
struct Lines {
    begin: u32,
    end: u32,
}

/// Writes the list and a line end.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    let places = Places::of(report);
    let of = |finding: &'_ crate::findings::Finding| {
        let region = places.region(finding.place);
        One {
            description: plain(&finding.message).into_owned(),
            check_name: finding.rule,
            fingerprint: fingerprint::written(finding.fingerprint),
            severity: match finding.severity {
                Severity::Fault => "blocker",
                Severity::Danger => "critical",
                Severity::Caution => "major",
                Severity::Note => "minor",
            },
            location: Location {
                path: plain(report.path(finding.place.file)).into_owned(),
                lines: Lines { begin: region.start.line, end: region.end.line },
            },
        }
    };
    to_writer(&report.findings.iter().map(of).collect::<Vec<_>>(), out)
}
