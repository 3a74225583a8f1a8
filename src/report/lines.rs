//! One line a finding: `file:line:column: severity rule message`.

use super::Report;
use super::places::Places;
use super::plain::plain;
use std::io::{self, Write};

/// Writes the findings, one a line.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    let places = Places::of(report);
    for finding in report.findings {
        let start = places.region(finding.place).start;
        let (path, severity) = (plain(report.path(finding.place.file)), finding.severity.word());
        let (rule, message) = (finding.rule, plain(&finding.message));
        writeln!(out, "{path}:{}:{}: {severity} {rule} {message}", start.line, start.column)?;
    }
    Ok(())
}
