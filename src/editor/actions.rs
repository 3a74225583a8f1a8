//! What can be done about findings: mends, waivers, and all sure mends at once.

use crate::findings::{Choice, Finding, Mend, is_protected};
use crate::inspect::Workspace;
use crate::mend::{Change, How, changes, mend};
use crate::report::places::choices_of;
use crate::source::{FileId, Lines, Span};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Changes of texts, by file.
pub(super) type Changes = BTreeMap<FileId, Vec<Change>>;

/// Something that can be done about a finding.
#[derive(Debug)]
pub(super) struct Fix {
    /// What it does, in words.
    pub(super) title: String,
    /// Whether it keeps the pilot's intent.
    pub(super) is_sure: bool,
    pub(super) changes: Changes,
}

/// What the mend of a finding can do in the texts.
pub(super) fn fixes(workspace: &Workspace, finding: &Finding, findings: &[Finding]) -> Vec<Fix> {
    let text_of = |file: FileId| workspace.text(file).filter(|_| (file.0 as usize) < workspace.count());
    let fix = |choice: &Choice| {
        let changes = changes(finding, choice, &text_of, findings)?;
        Some(Fix { title: choice.label.clone(), is_sure: matches!(finding.mend, Mend::Sure(_)), changes })
    };
    choices_of(&finding.mend).iter().filter_map(fix).collect()
}

/// A waiver above the line of a finding.
#[derive(Debug)]
pub(super) struct Waive {
    /// Where it is put: the start of the line.
    pub(super) at: u32,
    /// The white space in front of it.
    pub(super) indent: String,
    /// The end of a line.
    pub(super) line_break: &'static str,
}

/// Where a waiver of a finding goes; none where it can't be waived, or stands in a text that has no comments.
pub(super) fn waive(workspace: &Workspace, finding: &Finding) -> Option<Waive> {
    let file = finding.place.file;
    if is_protected(finding.rule) || finding.severity == crate::findings::Severity::Fault || workspace.is_json(file) {
        return None;
    }
    let text = workspace.text(file).filter(|_| (file.0 as usize) < workspace.count())?;
    let lines = Lines::new(&text);
    let line = lines.line(lines.position(finding.place.span.start).line)?;
    let start = if line.start == 0 && text.starts_with(b"\xef\xbb\xbf") { 3 } else { line.start };
    let own = Span::new(start, line.end).of(&text);
    let indent: String =
        own.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).map(|byte| char::from(*byte)).collect();
    // A waiver counts for the statement below it: what is found must begin the line.
    if own.len() > indent.len() && start + indent.len() as u32 != finding.place.span.start {
        return None;
    }
    let line_break = if text.get(line.end as usize) == Some(&b'\r') { "\r\n" } else { "\n" };
    Some(Waive { at: start, indent, line_break })
}

/// Does all sure mends of the findings of a file, as `mend` does; the texts that then are others. The workspace is left as it
/// was.
pub(super) fn all_sure(workspace: &mut Workspace, file: FileId) -> Vec<(FileId, Arc<[u8]>, Vec<u8>)> {
    let names: Vec<String> = workspace.names().iter().take(workspace.count()).cloned().collect();
    let firsts: Vec<Option<Arc<[u8]>>> = (0..names.len() as u32).map(|number| workspace.text(FileId(number))).collect();
    let texts: Vec<Vec<u8>> = firsts.iter().map(|text| text.as_deref().unwrap_or_default().to_vec()).collect();
    let put = |workspace: &mut Workspace, texts: &[Vec<u8>]| {
        for ((name, first), text) in names.iter().zip(&firsts).zip(texts) {
            if first.is_some() {
                workspace.set(name, text.as_slice());
            }
        }
    };
    let mut look = |texts: &[Vec<u8>]| {
        put(workspace, texts);
        workspace.outcome()
    };
    let wanted = |finding: &Finding| finding.place.file == file;
    let mended = mend(texts, &mut look, &wanted, How::Sure);
    let before: Vec<Vec<u8>> = firsts.iter().map(|text| text.as_deref().unwrap_or_default().to_vec()).collect();
    put(workspace, &before);
    let files = (0..).map(FileId).zip(firsts).zip(mended.texts);
    files
        .filter_map(|((file, first), text)| Some((file, first?, text)))
        .filter(|(_, first, text)| **first != **text)
        .collect()
}

/// The smallest change that makes one text of another; none where they are the same.
pub(super) fn difference(before: &[u8], after: &[u8]) -> Option<(Span, String)> {
    if before == after {
        return None;
    }
    let front = before.iter().zip(after).take_while(|(left, right)| left == right).count();
    let most = before.len().min(after.len()) - front;
    let back = before.iter().rev().zip(after.iter().rev()).take(most).take_while(|(left, right)| left == right).count();
    // Characters stay whole.
    let is_inside = |text: &[u8], at: usize| text.get(at).is_some_and(|byte| byte & 0xc0 == 0x80);
    let (mut start, mut back) = (front, back);
    while start > 0 && (is_inside(before, start) || is_inside(after, start)) {
        start -= 1;
    }
    while back > 0 && (is_inside(before, before.len() - back) || is_inside(after, after.len() - back)) {
        back -= 1;
    }
    let new = after.get(start..after.len() - back)?;
    Some((Span::new(start as u32, (before.len() - back) as u32), String::from_utf8_lossy(new).into_owned()))
}

/// The changes of whole lines that make one text of another, each on its own: an editor then keeps its cursor and its marks.
pub(super) fn by_lines(before: &[u8], after: &[u8]) -> Vec<(Span, String)> {
    let (old, new) = (String::from_utf8_lossy(before), String::from_utf8_lossy(after));
    // A text that is not UTF-8 has other bytes when it is written anew.
    if old.len() != before.len() || new.len() != after.len() {
        return difference(before, after).into_iter().collect();
    }
    let diff = similar::TextDiff::from_lines(old.as_ref(), new.as_ref());
    // The lines as the difference counts them: for it a carriage return alone ends one too.
    fn starts<'l>(lines: impl Iterator<Item = &'l str>) -> Vec<u32> {
        let ends = lines.scan(0u32, |at, line| {
            *at += line.len() as u32;
            Some(*at)
        });
        std::iter::once(0).chain(ends).collect()
    }
    let (old_starts, new_starts) = (starts(diff.iter_old_slices()), starts(diff.iter_new_slices()));
    let at = |starts: &[u32], line: usize| starts.get(line).copied().unwrap_or_default();
    let ops = diff.ops().iter().filter(|op| op.tag() != similar::DiffTag::Equal);
    ops.filter_map(|op| {
        let span = Span::new(at(&old_starts, op.old_range().start), at(&old_starts, op.old_range().end));
        let text =
            new.get(at(&new_starts, op.new_range().start) as usize..at(&new_starts, op.new_range().end) as usize)?;
        let (inner, text) = difference(span.of(before), text.as_bytes())?;
        Some((Span::new(span.start + inner.start, span.start + inner.end), text))
    })
    .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_change() {
        for (before, after, start, end, text) in [
            ("abc", "abxc", 2, 2, "x"),
            ("abc", "ac", 1, 2, ""),
            ("aa", "aaa", 2, 2, "a"),
            ("é", "è", 0, 2, "è"),
            ("aéb", "aèb", 1, 3, "è"),
            ("", "x", 0, 0, "x"),
        ] {
            assert_eq!(difference(before.as_bytes(), after.as_bytes()), Some((Span::new(start, end), text.to_owned())));
        }
        assert_eq!(difference(b"same", b"same"), None);
    }

    #[test]
    fn changes_of_lines_make_the_other_text() {
        for (before, after) in [
            ("a\nb\nc\n", "a\n  b\nc"),
            ("a\r\nb\r\n", "x\r\n\r\nb\r\n"),
            ("", "a\n"),
            ("é\nb\n", "é b\nb\n"),
            ("a\nb\nc\nd\ne\n", "b\nc\nX\ne\nf\n"),
            // A comment may hold a carriage return.
            ("# a\rb\nc\nd\n", "# a\rb\nx\nd\n"),
        ] {
            let mut text = before.to_owned();
            for (span, new) in by_lines(before.as_bytes(), after.as_bytes()).into_iter().rev() {
                text.replace_range(span.range(), &new);
            }
            assert_eq!(text, after);
        }
    }
}
