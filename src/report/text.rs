//! The report for people: findings with excerpts of the source, then a line an aircraft.

mod closing;
mod excerpt;

use super::bench_words::bench_words;
use super::paint::Paint;
use super::paragraphs::{sentences, wrapped};
use super::places::{Places, Region};
use super::plain::plain;
use super::totals::totals;
use super::{Report, words};
use crate::findings::{Finding, Severity};
use crate::rules::book;
use crate::source::{FileId, Place};
use excerpt::{Excerpt, Mark, near_each_other};
use miette::{Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, ThemeCharacters, ThemeStyles};
use rustc_hash::FxHashSet;
use std::fmt::{self, Write as _};
use std::io::{self, Write};
use std::ops::Range;
use std::sync::Arc;

/// How the terminal is drawn on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Style {
    /// Colour stands for severity alone, never for a channel.
    pub colour: bool,
    /// Columns to fill.
    pub width: usize,
    /// Whether a finding is told with its steps on the bench and all its places, instead of in a few lines.
    pub full: bool,
}

impl Style {
    /// What paints in this style.
    pub const fn paint(self) -> Paint {
        Paint(self.colour)
    }
}

/// Other places that are shown with an excerpt; the rest are named.
const EXCERPTS_AT_MOST: usize = 3;
/// Other places that are named; the rest are counted.
const NAMED_AT_MOST: usize = 6;
/// Other places that a finding in short names.
const NAMED_IN_SHORT: usize = 2;
/// Aircraft that are named in a finding's first line; the rest are counted.
const AIRCRAFT_AT_MOST: usize = 4;
/// Where the texts below an excerpt start.
const INDENT: usize = 13;
/// Columns beside the sentence over an excerpt.
const MARGIN: usize = 6;
/// More than an excerpt ever has, so that it is always shown as it was cut.
const LINES_OF_AN_EXCERPT: usize = 1_000;

/// Writes the report.
///
/// # Errors
/// When `out` can't be written to.
pub fn write(report: &Report<'_>, style: Style, out: &mut dyn Write) -> io::Result<()> {
    let pages = Pages::new(report, style);
    pages.write_all(out)?;
    pages.close(out)
}

/// Writes the findings alone, without what closes a report, each as if it were the first of its rule.
///
/// # Errors
/// When `out` can't be written to.
pub fn write_findings(report: &Report<'_>, style: Style, out: &mut dyn Write) -> io::Result<()> {
    let mut pages = Pages::new(report, Style { full: true, ..style });
    pages.explains.fill(First { of_case: true, of_bench: true });
    pages.write_all(out)
}

/// The totals alone, in one line: for a hook that has nothing to refuse.
///
/// # Errors
/// When `out` can't be written to.
pub fn write_totals(report: &Report<'_>, out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "{}", totals(report))
}

/// So many findings are written in one go: neighbours share texts.
const FINDINGS_OF_A_PART: usize = 96;

/// Room for the text of a part, in bytes.
const ROOM_OF_A_PART: usize = 96 * 1024;

/// A report in parts, each of which can be written on its own, on any thread.
pub struct Pages<'r> {
    report: &'r Report<'r>,
    style: Style,
    /// What is said of each finding, because it is the first of its kind.
    explains: Vec<First>,
}

/// What a finding is the first of.
#[derive(Clone, Copy)]
struct First {
    /// Of its rule and case: what the book says of the rule in general is said.
    of_case: bool,
    /// Of these and of the aircraft and handsets whose words the book's bench text has: it is said.
    of_bench: bool,
}

impl<'r> Pages<'r> {
    /// Finds out which findings are the first of their rules and cases.
    pub fn new(report: &'r Report<'r>, style: Style) -> Self {
        let (mut cases, mut benches) = (FxHashSet::default(), FxHashSet::default());
        let first = |finding: &'r Finding| First {
            of_case: cases.insert((finding.rule, finding.case)),
            of_bench: benches.insert((finding.rule, finding.case, finding.cautions.as_slice(), finding.grip)),
        };
        let explains = report.findings.iter().map(first).collect();
        Self { report, style, explains }
    }

    /// The parts, in order: which findings each holds.
    pub fn parts(&self) -> impl Iterator<Item = Range<usize>> + use<> {
        let count = self.report.findings.len();
        (0..count).step_by(FINDINGS_OF_A_PART).map(move |start| start..count.min(start + FINDINGS_OF_A_PART))
    }

    /// The text of some findings. Whatever `spent` holds is written over; its memory is used again.
    pub fn write(&self, part: Range<usize>, mut spent: String) -> String {
        spent.clear();
        spent.reserve(ROOM_OF_A_PART);
        let mut texts = Texts { report: self.report, last: Vec::new(), handlers: Vec::new() };
        let findings = self.report.findings.get(part.clone()).unwrap_or_default();
        let places = Places::among(findings, &mut |file, look| texts.get(file).into_iter().for_each(look));
        let mut page = Page { style: self.style, severity: Severity::Note, text: spent };
        for (finding, &first) in findings.iter().zip(self.explains.get(part).unwrap_or_default()) {
            page.add(finding, first, &places, &mut texts);
            page.text.push('\n');
        }
        page.text
    }

    fn write_all(&self, out: &mut dyn Write) -> io::Result<()> {
        let mut text = String::new();
        for part in self.parts() {
            text = self.write(part, text);
            out.write_all(text.as_bytes())?;
        }
        Ok(())
    }

    /// Writes what stands at the end of the report.
    ///
    /// # Errors
    /// When `out` can't be written to.
    pub fn close(&self, out: &mut dyn Write) -> io::Result<()> {
        closing::write(self.report, self.style, out)
    }
}

/// The texts that were used last: neighbouring findings mostly share theirs.
struct Texts<'r> {
    report: &'r Report<'r>,
    last: Vec<(FileId, Option<Arc<[u8]>>)>,
    /// What draws excerpts, by severity, as far as it was needed.
    handlers: Vec<(Severity, GraphicalReportHandler)>,
}

impl Texts<'_> {
    const KEPT: usize = 16;

    fn get(&mut self, file: FileId) -> Option<&[u8]> {
        let at = match self.last.iter().position(|(kept, _)| *kept == file) {
            Some(at) => at,
            None => {
                self.last.truncate(Self::KEPT - 1);
                self.last.insert(0, (file, (self.report.text_of)(file)));
                0
            }
        };
        self.last[at].1.as_deref()
    }

    fn handler(&mut self, severity: Severity, style: Style) -> &GraphicalReportHandler {
        let at = self.handlers.iter().position(|(known, _)| *known == severity).unwrap_or_else(|| {
            self.handlers.push((severity, handler(severity, style)));
            self.handlers.len() - 1
        });
        &self.handlers[at].1
    }
}

/// What is written about findings; the severity is that of the last.
struct Page {
    style: Style,
    severity: Severity,
    text: String,
}

impl Page {
    fn add(&mut self, finding: &Finding, first: First, places: &Places, texts: &mut Texts<'_>) {
        self.severity = finding.severity;
        self.header(finding);
        let report = texts.report;
        self.excerpts(finding, places, texts, report);
        match self.style.full {
            true => self.explain(finding, first),
            false => self.explain_in_short(finding, first.of_case),
        }
    }

    fn header(&mut self, finding: &Finding) {
        let word = self.style.paint().severity(finding.severity, finding.severity.word());
        let mut names: Vec<_> = finding.aircraft.iter().take(AIRCRAFT_AT_MOST).map(|name| plain(name)).collect();
        if let Some(more @ 1..) = finding.aircraft.len().checked_sub(AIRCRAFT_AT_MOST) {
            names.push(format!("{more} more").into());
        }
        let aircraft = if names.is_empty() { String::new() } else { format!(" ({})", names.join(", ")) };
        let _ = writeln!(self.text, "{word}: {}{aircraft}", finding.rule);
    }

    /// The message over the excerpt of its place, then the other places.
    fn excerpts(&mut self, finding: &Finding, places: &Places, texts: &mut Texts<'_>, report: &Report<'_>) {
        let mark = |place: Place, label| Mark { span: place.span, region: places.region(place), label };
        let (here, elsewhere): (Vec<_>, Vec<_>) =
            finding.others.iter().partition(|(place, _)| place.file == finding.place.file);
        let mut marks: Vec<Mark<'_>> = here.iter().map(|(place, label)| mark(*place, label.as_str())).collect();
        marks.push(mark(finding.place, ""));
        marks.sort_by_key(|mark| mark.span);
        let mut runs: Vec<&[Mark<'_>]> = near_each_other(&marks).collect();
        // The excerpt of the primary place comes first.
        runs.sort_by_key(|run| !run.iter().any(|mark| mark.span == finding.place.span && mark.label.is_empty()));
        let mut left = Vec::new();
        for (number, run) in runs.into_iter().enumerate() {
            let message =
                if number == 0 { finding.message.as_str() } else { run.first().map_or("", |mark| mark.label) };
            if number == 0 || (self.style.full && number <= EXCERPTS_AT_MOST) {
                self.excerpt(message, finding.place.file, run, number > 0, texts, report);
            } else {
                left.extend(run.iter().map(|mark| (finding.place.file, mark.region, mark.label)));
            }
        }
        for (number, (place, label)) in elsewhere.into_iter().enumerate() {
            let mark = mark(*place, label.as_str());
            if self.style.full && number < EXCERPTS_AT_MOST {
                self.excerpt(label, place.file, &[mark], true, texts, report);
            } else {
                left.push((place.file, mark.region, mark.label));
            }
        }
        self.name_the_rest(&left, report);
    }

    fn name_the_rest(&mut self, left: &[(FileId, Region, &str)], report: &Report<'_>) {
        let at_most = if self.style.full { NAMED_AT_MOST } else { NAMED_IN_SHORT };
        let mut named: Vec<String> = left
            .iter()
            .take(at_most)
            .map(|&(file, region, label)| {
                format!("{}:{} {}", plain(report.path(file)), region.start.line, plain(label)).trim_end().to_owned()
            })
            .collect();
        if let Some(more @ 1..) = left.len().checked_sub(at_most) {
            named.push(format!("{more} more places"));
        }
        if !named.is_empty() {
            self.item("see also", &self.in_short(&named.join("; "), 1));
        }
    }

    fn excerpt(
        &mut self,
        message: &str,
        file: FileId,
        marks: &[Mark<'_>],
        related: bool,
        texts: &mut Texts<'_>,
        report: &Report<'_>,
    ) {
        let path = plain(report.path(file)).into_owned();
        let source = texts.get(file).filter(|text| !text.is_empty()).and_then(|text| Excerpt::cut(&path, text, marks));
        let also = if related { "also: " } else { "" };
        let message = match (&source, marks.first()) {
            (None, Some(mark)) => format!("{also}{} [{path}:{}]", plain(message), mark.region.start.line),
            _ => format!("{also}{}", plain(message)),
        };
        let room = self.style.width.saturating_sub(MARGIN).max(20);
        let message = match message.chars().nth(room) {
            Some(_) => wrapped(&message, room).join("\n"),
            None => message,
        };
        // A single label would only say the message again.
        let with_labels = marks.len() > 1 || !related;
        let shown = Shown { message, severity: self.severity, source, with_labels };
        // Writing to a string can't fail.
        let _ = texts.handler(self.severity, self.style).render_report(&mut self.text, &shown);
    }

    /// What can happen, how it shows on the bench, how to mend it. What the book says of the rule in general is said
    /// the `first` time only.
    fn explain(&mut self, finding: &Finding, first: First) {
        let doc = book::find(finding.rule);
        let general = doc.filter(|_| first.of_case);
        if let Some(doc) = general {
            self.item("can happen", sentences(doc.what_can_happen_in(finding.case), 2));
        }
        if let Some(reached) = &finding.reached {
            self.item("reached", &plain(reached));
        }
        if let Some(bench) = words::bench(finding) {
            self.item("bench", &bench);
        } else if let Some(doc) = doc.filter(|_| finding.severity != Severity::Fault) {
            match first.of_bench {
                true => self.item("bench", &bench_words(doc, finding)),
                false => self.item("bench", "as for the first of this rule above"),
            }
        }
        self.item("mend", &words::mend(&finding.mend));
        if doc.is_some() {
            self.item("more", &format!("walkaround why {}", finding.rule));
        }
    }

    /// What can happen, in one sentence and the `first` time only, and how to mend it.
    fn explain_in_short(&mut self, finding: &Finding, first: bool) {
        if let Some(doc) = book::find(finding.rule).filter(|_| first) {
            self.item("can happen", &self.in_short(sentences(doc.what_can_happen_in(finding.case), 1), 2));
        }
        self.item("mend", &self.in_short(&words::mend_in_short(&finding.mend), 2));
    }

    /// A text that fits into so many lines beside a word; what is cut off is told by `--full`.
    fn in_short(&self, text: &str, lines: usize) -> String {
        let width = self.style.width.saturating_sub(INDENT).max(20);
        let mut kept = wrapped(text, width);
        if self.style.full || kept.len() <= lines {
            return text.to_owned();
        }
        kept.truncate(lines);
        let mut text = kept.join(" ");
        loop {
            let short = text.trim_end_matches([',', ';', ':', '.', ' ']).to_owned() + " …";
            match text.rfind(' ') {
                Some(at) if wrapped(&short, width).len() > lines => text.truncate(at),
                _ => return short,
            }
        }
    }

    /// A word and a text beside it, wrapped to the width.
    fn item(&mut self, word: &str, text: &str) {
        if text.is_empty() {
            return;
        }
        let width = self.style.width.saturating_sub(INDENT).max(20);
        for (number, line) in wrapped(text, width).into_iter().enumerate() {
            let word = if number == 0 { word } else { "" };
            let _ = writeln!(self.text, " {word:>10}  {line}");
        }
    }
}

/// One excerpt with its sentence.
#[derive(Debug)]
struct Shown {
    message: String,
    severity: Severity,
    source: Option<Excerpt>,
    with_labels: bool,
}

impl fmt::Display for Shown {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(&self.message)
    }
}

impl std::error::Error for Shown {}

impl Diagnostic for Shown {
    fn severity(&self) -> Option<miette::Severity> {
        Some(match self.severity {
            Severity::Fault | Severity::Danger => miette::Severity::Error,
            Severity::Caution => miette::Severity::Warning,
            Severity::Note => miette::Severity::Advice,
        })
    }

    fn source_code(&self) -> Option<&dyn miette::SourceCode> {
        self.source.as_ref().map(|source| source as _)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let labels = self.source.as_ref()?.labels.iter().map(|(range, label)| {
            let label = Some(label.clone()).filter(|label| self.with_labels && !label.is_empty());
            LabeledSpan::new_with_span(label, range.clone())
        });
        Some(Box::new(labels))
    }
}

fn handler(severity: Severity, style: Style) -> GraphicalReportHandler {
    let mut characters = ThemeCharacters::unicode();
    for icon in [&mut characters.error, &mut characters.warning, &mut characters.advice] {
        *icon = "•".to_owned();
    }
    let mut styles = if style.colour { ThemeStyles::ansi() } else { ThemeStyles::none() };
    let of_severity = match severity {
        Severity::Fault | Severity::Danger => styles.error,
        Severity::Caution => styles.warning,
        Severity::Note => styles.advice,
    };
    styles.highlights = vec![of_severity];
    GraphicalReportHandler::new_themed(GraphicalTheme { characters, styles })
        .with_width(style.width)
        .with_context_lines(LINES_OF_AN_EXCERPT)
        .without_primary_span_start()
        .with_urls(false)
        .with_wrap_lines(false)
        .without_syntax_highlighting()
}

#[cfg(test)]
mod tests;
