//! The end of the report: a line an aircraft, the totals, and the cautions that are always shown.

use super::Style;
use crate::findings::Severity;
use crate::findings::caution::before_the_bench;
use crate::findings::verdict::Verdict;
use crate::report::Report;
use crate::report::coverage::{Beneath, waived_words, waiver};
use crate::report::paragraphs::{first_line, wrapped};
use crate::report::plain::plain;
use crate::report::record;
use crate::report::totals::{counted, several, totals};
use crate::report::verdict::in_words;
use std::borrow::Cow;
use std::io::{self, Write};

/// What stands under every report, behind what has to be done before a check on the bench.
const STAYS: &str = "Your own pre-flight check stays, and local aviation and radio rules and licensed practice decide.";
const FOUND: &str =
    "\"Nothing found\" means that none of these rules spoke. It does not mean that the aircraft is fit to fly.";

/// So many waived findings are named.
const WAIVED_AT_MOST: usize = 5;

pub(super) fn write(report: &Report<'_>, style: Style, out: &mut dyn Write) -> io::Result<()> {
    let longest = report.aircraft.iter().map(|aircraft| plain(&aircraft.name).chars().count()).max().unwrap_or(0);
    let (beneath, room) = (Beneath::new(report), style.width.saturating_sub(4));
    for aircraft in report.aircraft {
        let name = plain(&aircraft.name);
        let pad = " ".repeat(longest.min(40).saturating_sub(name.chars().count()));
        let verdict = aircraft.verdict;
        let row = report.coverage.of(&aircraft.name);
        let words = match (verdict, row) {
            (Verdict::NothingOfThese, _) => {
                let count = report.coverage.rules.len();
                Cow::Owned(format!("nothing found by the {} asked", several(count, "rule")))
            }
            _ => in_words(verdict, row),
        };
        let word = match severity_of(verdict) {
            Some(severity) => style.paint().severity(severity, &words),
            None => words.to_string(),
        };
        let known = Some(format!("{} known", aircraft.known)).filter(|_| aircraft.known > 0);
        let counted: Vec<String> =
            Some(counted(&aircraft.counts)).into_iter().chain(known).filter(|part| !part.is_empty()).collect();
        let counted = counted.join(", ");
        let gap = if counted.is_empty() { 0 } else { 16_usize.saturating_sub(words.chars().count()).max(1) };
        writeln!(out, "{name}{pad}  {word}{}{counted}", " ".repeat(gap))?;
        // Silence about what is not stated must not look like a check.
        for line in row.map_or_else(Vec::new, |row| beneath.of(row, report, room)) {
            writeln!(out, "    {line}")?;
        }
    }
    for (aircraft, lines) in beneath.of_many(report, room) {
        for line in wrapped(&aircraft, style.width.max(20)) {
            writeln!(out, "{line}")?;
        }
        for line in lines {
            writeln!(out, "    {line}")?;
        }
    }
    if !report.aircraft.is_empty() {
        writeln!(out)?;
    }
    for line in wrapped(&totals(report), style.width.max(20)) {
        writeln!(out, "{line}")?;
    }
    if let Some(stale) = record::out_of_date(report.stale) {
        for line in wrapped(&stale, style.width.max(20)) {
            writeln!(out, "{line}")?;
        }
    }
    let at_most = if style.full { usize::MAX } else { WAIVED_AT_MOST };
    for waived in report.waived.iter().take(at_most) {
        let width = style.width.max(20);
        writeln!(out, "{}", first_line(&format!("waived: {}", waived_words(waived)), width))?;
        for line in wrapped(&waiver(waived, report), width - 4) {
            writeln!(out, "    {line}")?;
        }
    }
    if let Some(more @ 1..) = report.waived.len().checked_sub(at_most) {
        writeln!(out, "waived: {more} more (`walkaround inspect --full` names them)")?;
    }
    if !report.findings.is_empty() && !style.full {
        let more =
            "`walkaround inspect --full` adds the steps for the bench and all places, `walkaround why RULE` explains.";
        for line in wrapped(more, style.width.max(20)) {
            writeln!(out, "{line}")?;
        }
    }
    let off = before_the_bench(report.aircraft.iter().map(|aircraft| aircraft.caution));
    for caution in [format!("{off} {STAYS}"), FOUND.to_owned()] {
        for line in wrapped(&caution, style.width.max(20)) {
            writeln!(out, "{line}")?;
        }
    }
    Ok(())
}

const fn severity_of(verdict: Verdict) -> Option<Severity> {
    match verdict {
        Verdict::NotUnderstood => Some(Severity::Fault),
        Verdict::Danger => Some(Severity::Danger),
        Verdict::NotDecided | Verdict::Caution => Some(Severity::Caution),
        Verdict::Note => Some(Severity::Note),
        Verdict::NothingFound
        | Verdict::NothingNew
        | Verdict::Waived
        | Verdict::NothingOfThese
        | Verdict::NoModule
        | Verdict::NotFlown
        | Verdict::FaultBeside => None,
    }
}
