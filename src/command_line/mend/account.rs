//! What was mended, and what is left and why.

use super::super::output::tell;
use super::Around;
use crate::findings::{Finding, Mend};
use crate::mend::{Mended, Why};
use crate::report::plain::plain;
use crate::source::{FileId, Lines, Place};
use rustc_hash::FxHashMap;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::{self, Write};

pub(super) struct Account<'a> {
    pub(super) around: &'a Around,
    pub(super) mended: &'a Mended,
    /// How many files are changed.
    pub(super) changed: usize,
    /// The line starts of the texts that were spoken of, as they were at first or as they are now.
    pub(super) lines: RefCell<FxHashMap<(FileId, bool), Lines<'a>>>,
}

impl Account<'_> {
    /// On standard error, beside a preview.
    pub(super) fn tell(&self, preview: bool) {
        let mut err = io::stderr().lock();
        if self.write(preview, &mut err).is_err() {
            tell("what was mended could not be written");
        }
    }

    /// Writes the account, by file.
    pub(super) fn write(&self, preview: bool, out: &mut dyn Write) -> io::Result<()> {
        let mut by_file: BTreeMap<&str, Vec<(u8, u32, String)>> = BTreeMap::new();
        let done = if preview { "to mend" } else { "mended" };
        for one in &self.mended.done {
            let line = self.line(one.place, true);
            let more = match one.files.iter().filter(|file| **file != one.place.file).count() {
                0 => String::new(),
                _ => {
                    let names = one.files.iter().filter(|file| **file != one.place.file);
                    let names: Vec<_> = names.map(|file| self.name(file.0)).collect();
                    format!(" (with {})", plain(&names.join(", ")))
                }
            };
            let text = format!("{done} line {line}  {}: {}{more}", one.rule, plain(&one.label));
            by_file.entry(self.name(one.place.file.0)).or_default().push((0, line, text));
        }
        for left in &self.mended.left {
            let Some(finding) = self.mended.outcome.findings.get(left.finding) else { continue };
            // A preview speaks of the lines as they are now, before the mends.
            let line = if preview { self.line(left.first, true) } else { self.line(finding.place, false) };
            let text = format!(
                "left line {line}  {} ({}): {}",
                finding.rule,
                finding.severity.word(),
                plain(&self.reason(&left.why, finding, preview))
            );
            by_file.entry(self.name(finding.place.file.0)).or_default().push((1, line, text));
        }
        let goes = if preview { "goes too" } else { "gone too" };
        for (rule, place) in &self.mended.gone {
            let line = self.line(*place, true);
            let text = format!("{goes} line {line}  {rule}: another mend changes the same lines");
            by_file.entry(self.name(place.file.0)).or_default().push((0, line, text));
        }
        for (name, mut items) in by_file {
            items.sort();
            writeln!(out, "{}", plain(name))?;
            for (_, _, text) in items {
                writeln!(out, "  {text}")?;
            }
        }
        self.close(preview, out)
    }

    fn close(&self, preview: bool, out: &mut dyn Write) -> io::Result<()> {
        let count = |number: usize, one: &str| match number {
            1 => format!("1 {one}"),
            _ => format!("{number} {one}s"),
        };
        let choices = self.mended.left.iter();
        let choices = choices.filter(|left| matches!(left.why, Why::Choice(_) | Why::ChoiceBrings(..))).count();
        let verb = if preview { "would be mended" } else { "mended" };
        let mut line = format!("{} {verb}", count(self.mended.done.len(), "finding"));
        if self.changed > 0 {
            line += &format!(" in {}", count(self.changed, "file"));
        }
        line += &format!(", {} left", self.mended.left.len());
        if choices > 0 {
            let need = if choices == 1 { "needs" } else { "need" };
            line += &format!("; {choices} {need} a choice of yours (`walkaround mend --ask`)");
        }
        writeln!(out, "{line}.")?;
        if self.changed > 0 && !preview {
            writeln!(
                out,
                "The texts are changed, and nothing else is: set the handset, the receiver and the aircraft so too, with the propellers off."
            )?;
        }
        Ok(())
    }

    fn reason(&self, why: &Why, finding: &Finding, preview: bool) -> String {
        match why {
            Why::Words(words) => format!("by hand: {words}"),
            Why::Choice(words) => format!("your choice: {}", choice_in_words(words, finding)),
            Why::ChoiceBrings(words, danger) => {
                format!(
                    "your choice: {}; the first would bring another danger, {danger}",
                    choice_in_words(words, finding)
                )
            }
            Why::Left => "you left it".to_owned(),
            Why::Fault(place) => format!(
                "a fault stands near, in line {}: mend that first",
                self.line(*place, preview && !self.changes_file(place.file))
            ),
            Why::Danger(danger) => format!("its mend is not done: it would bring another danger, {danger}"),
            Why::Refused(why) => format!("its mend is not done: {why}"),
            Why::Unsettled => "the mends do not come to an end".to_owned(),
        }
    }

    /// Whether anything was mended in a file, so that its lines may have moved.
    fn changes_file(&self, file: FileId) -> bool {
        self.mended.done.iter().any(|done| done.files.contains(&file))
    }

    fn name(&self, file: u32) -> &str {
        self.around.name(FileId(file))
    }

    /// The line of a place, in the texts as they were at first or as they are now.
    fn line(&self, place: Place, first: bool) -> u32 {
        let mut lines = self.lines.borrow_mut();
        let lines = lines.entry((place.file, first)).or_insert_with(|| {
            let index = place.file.0 as usize;
            let text = match first {
                true => self.around.firsts.get(index).map(|text| &**text),
                false => self.mended.texts.get(index).map(Vec::as_slice),
            };
            Lines::new(text.or(self.around.other_text(place.file).map(|text| &**text)).unwrap_or_default())
        });
        lines.position(place.span.start).line
    }
}

/// What there is to choose: the words of the mend, else what its first choice says.
fn choice_in_words(words: &str, finding: &Finding) -> String {
    match &finding.mend {
        Mend::Choices(_, choices) if words.is_empty() => {
            choices.first().map_or_else(String::new, |choice| choice.label.clone())
        }
        _ => words.trim_end_matches('.').to_owned(),
    }
}
