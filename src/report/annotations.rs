//! One line a finding that a CI service shows beside the line of the file: a CI log line, as such services read
//! them in the log of a run, `::error file=…,line=…,endLine=…,col=…,title=…::message`.
//!
//! A fault and a danger are an `error`, a caution is a `warning`, a note a `notice`. A column is given for a place on one
//! line only, since readers of the form take none for several lines.

use super::Report;
use super::places::Places;
use super::plain::plain;
use crate::findings::Severity;
use std::io::{self, Write};

/// Writes the findings, one a line.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    let places = Places::of(report);
    for finding in report.findings {
        let command = match finding.severity {
            Severity::Fault | Severity::Danger => "error",
            Severity::Caution => "warning",
            Severity::Note => "notice",
        };
        let region = places.region(finding.place);
        let file = property(&plain(report.path(finding.place.file)));
        let (line, end_line) = (region.start.line, region.end.line);
        write!(out, "::{command} file={file},line={line},endLine={end_line}")?;
        if line == end_line {
            write!(out, ",col={}", region.start.column)?;
        }
        let title = property(&format!("{} {}", finding.severity.word(), finding.rule));
        writeln!(out, ",title={title}::{}", data(&plain(&finding.message)))?;
    }
    Ok(())
}

/// A text as it stands behind the second `::`.
fn data(text: &str) -> String {
    text.replace('%', "%25").replace('\r', "%0D").replace('\n', "%0A")
}

/// A text as it stands as the value of a property.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::tests::{Sample, written};

    #[test]
    fn one_command_a_finding() {
        let sample = Sample::new();
        let text = written(|out| write(&sample.report(), out));
        let wanted = "::error file=broken.rig,line=1,endLine=1,col=1,title=fault format/unreadable::Byte 4 is no UTF-8.\n\
            ::error file=fleet/d\\u{1b}unlin é 100%25.rig,line=4,endLine=4,col=18,title=danger arming/between-levels\
            ::Channel 7 can't carry \"\\u{1b}[31mmiddle\"\\nof 3 positions.\n\
            ::warning file=fleet/knot.rig,line=4,endLine=4,col=3,title=caution arming/momentary\
            ::Letting trigger go disarms in flight.\n";
        assert_eq!(text, wanted);
    }

    #[test]
    fn nothing_ends_a_property_or_a_line_early() {
        assert_eq!(property("a:b,c%2C\r\n"), "a%3Ab%2Cc%252C%0D%0A");
        assert_eq!(data("a:b,c%0A\r\n"), "a:b,c%250A%0D%0A");
    }
}
