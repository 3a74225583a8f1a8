//! How many findings each rule has: a line a rule, the worst and the most first.

use super::Report;
use super::paint::Paint;
use crate::findings::{RuleId, Severity};
use rustc_hash::FxHashMap;
use std::cmp::Reverse;
use std::io::{self, Write};

/// Writes the counts.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, paint: Paint, out: &mut dyn Write) -> io::Result<()> {
    let mut counts: FxHashMap<(Severity, RuleId), usize> = FxHashMap::default();
    for finding in report.findings {
        *counts.entry((finding.severity, finding.rule)).or_default() += 1;
    }
    let mut counts: Vec<((Severity, RuleId), usize)> = counts.into_iter().collect();
    counts.sort_by_key(|&((severity, rule), count)| (Reverse(severity), Reverse(count), rule));
    for ((severity, rule), count) in counts {
        let word = paint.severity(severity, &format!("{:<7}", severity.word()));
        writeln!(out, "{count:>6}  {word}  {rule}")?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::tests::{Sample, written};

    #[test]
    fn the_worst_come_first() {
        let sample = Sample::new();
        let mut findings = sample.findings.clone();
        findings.extend(sample.findings.get(2).cloned());
        let report = Report { findings: &findings, ..sample.report() };
        let text = written(|out| write(&report, Paint::NONE, out));
        let wanted = "     1  fault    format/unreadable\n     1  danger   arming/between-levels\n     2  caution  arming/momentary\n";
        assert_eq!(text, wanted);
    }
}
