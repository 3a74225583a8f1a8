//! One line a finding: `file:line:column: severity rule message`.

use super::Report;
use super::places::Places;
use super::plain::plain;
use crate::source::Lines;
use std::io::{self, Write};

/// What a column counts.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub enum Columns {
    /// Unicode characters.
    #[default]
    Characters,
    /// Bytes of UTF-8, as the error lists of some editors do. A byte-order mark at the start of the file counts for none.
    Bytes,
}

/// Writes the findings, one a line.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, columns: Columns, out: &mut dyn Write) -> io::Result<()> {
    let places = Places::of(report);
    // Of the last file that was asked for, since neighbours mostly share theirs.
    let mut starts = None;
    for finding in report.findings {
        let start = places.region(finding.place).start;
        let file = finding.place.file;
        let column = match columns {
            Columns::Characters => start.column,
            Columns::Bytes => {
                if starts.as_ref().is_none_or(|(known, _)| *known != file) {
                    let text = (report.text_of)(file).unwrap_or_default();
                    starts = Some((file, (text.starts_with(b"\xef\xbb\xbf"), Lines::starts(&text))));
                }
                let line = start.line as usize - 1;
                let first = starts.as_ref().map(|(_, (marked, starts))| match starts.get(line) {
                    Some(0) if *marked => 3,
                    start => start.copied().unwrap_or_default(),
                });
                finding.place.span.start.saturating_sub(first.unwrap_or_default()) + 1
            }
        };
        let (path, severity) = (plain(report.path(file)), finding.severity.word());
        let (rule, message) = (finding.rule, plain(&finding.message));
        writeln!(out, "{path}:{}:{column}: {severity} {rule} {message}", start.line)?;
    }
    Ok(())
}
