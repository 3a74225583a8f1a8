//! Excerpts of source texts, with what would harm a terminal shown as escapes and the labels moved along.

use crate::report::places::Region;
use crate::report::plain;
use crate::source::Span;
use miette::{MietteError, MietteSpanContents, SourceCode, SourceSpan, SpanContents};
use std::ops::Range;

/// How many bytes of a line are shown before and behind the start of a label.
const BEFORE: usize = 90;
const BEHIND: usize = 150;
/// Labels of one file stand in one excerpt if no more lines than this lie between them.
const LINES_BETWEEN: u32 = 2;

/// A place to show and what to write at it.
#[derive(Clone, Debug)]
pub(super) struct Mark<'r> {
    pub(super) span: Span,
    pub(super) region: Region,
    pub(super) label: &'r str,
}

/// A few lines of a text as they are shown.
#[derive(Debug)]
pub(super) struct Excerpt {
    /// `file:line:column` of the first mark.
    name: String,
    text: String,
    first_line: usize,
    /// Where the marks lie in `text`.
    pub(super) labels: Vec<(Range<usize>, String)>,
}

impl Excerpt {
    /// Cuts the lines of the marks out of `text`; `path` is already plain. The marks are in place order.
    pub(super) fn cut(path: &str, text: &[u8], marks: &[Mark<'_>]) -> Option<Self> {
        let (first, last) = (marks.first()?, marks.last()?);
        let (from, cut_before) = start_of_line(text, first.span.start as usize);
        let (to, cut_behind) = end_of_line(text, last.span.start as usize);
        let count = to.saturating_sub(from) + 8;
        let mut shown = Shown { text: String::with_capacity(count), at: Vec::with_capacity(count) };
        if cut_before {
            shown.text.push('…');
        }
        shown.push(text.get(from..to).unwrap_or_default(), from);
        let end = shown.text.len();
        if cut_behind {
            shown.text.push('…');
        }
        let labels = marks.iter().map(|mark| {
            let start = shown.of(mark.span.start as usize).unwrap_or(end);
            // A label that spans lines is drawn to the end of its first one.
            let line_end = shown.text[start..].find('\n').map_or(end, |at| start + at);
            let stop = shown.of(mark.span.end as usize).unwrap_or(end).clamp(start, line_end.max(start));
            (start..stop, plain::plain(mark.label).into_owned())
        });
        let labels = labels.collect();
        let start = first.region.start;
        let name = format!("{path}:{}:{}", start.line, start.column);
        Some(Self { name, text: shown.text, first_line: start.line as usize - 1, labels })
    }
}

/// Splits marks in place order into runs that are near enough to be shown together.
pub(super) fn near_each_other<'m, 'r>(marks: &'m [Mark<'r>]) -> impl Iterator<Item = &'m [Mark<'r>]> {
    marks.chunk_by(|left, right| {
        let lines = right.region.start.line.saturating_sub(left.region.start.line);
        let bytes = right.span.start.saturating_sub(left.span.start) as usize;
        lines <= LINES_BETWEEN + 1 && bytes <= 4 * BEHIND
    })
}

impl SourceCode for Excerpt {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        before: usize,
        behind: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let read = self.text.as_str().read_span(span, before, behind)?;
        let (line, column) = (read.line() + self.first_line, read.column());
        let contents = (read.data(), *read.span(), read.line_count());
        let (data, span, count) = contents;
        Ok(Box::new(MietteSpanContents::new_named(self.name.clone(), data, span, line, column, count)))
    }
}

/// The start of the line of a byte, or a place near before it in a very long line.
fn start_of_line(text: &[u8], at: usize) -> (usize, bool) {
    let at = at.min(text.len());
    let earliest = at.saturating_sub(BEFORE);
    match memchr::memrchr(b'\n', &text[earliest..at]) {
        Some(line_end) => (earliest + line_end + 1, false),
        None if earliest == 0 && text.starts_with(b"\xef\xbb\xbf") => (3.min(at), false),
        None => (character_start(text, earliest), earliest > 0),
    }
}

/// The end of the line of a byte, or a place near behind it in a very long line.
fn end_of_line(text: &[u8], at: usize) -> (usize, bool) {
    let at = at.min(text.len());
    let latest = text.len().min(at + BEHIND);
    match memchr::memchr(b'\n', &text[at..latest]) {
        Some(line_end) => (at + line_end, false),
        None => (character_start(text, latest), latest < text.len()),
    }
}

/// The next byte that is no continuation byte of UTF-8.
fn character_start(text: &[u8], at: usize) -> usize {
    text[at..].iter().take(4).position(|byte| byte & 0xc0 != 0x80).map_or(at, |skipped| at + skipped)
}

/// A text as it is shown, and where its bytes went.
struct Shown {
    text: String,
    /// A byte of the file and the byte of `text` it went to, in order.
    at: Vec<(usize, usize)>,
}

impl Shown {
    fn push(&mut self, bytes: &[u8], origin: usize) {
        let mut from = origin;
        for chunk in bytes.utf8_chunks() {
            let mut characters = chunk.valid().chars().peekable();
            while let Some(character) = characters.next() {
                self.at.push((from, self.text.len()));
                from += character.len_utf8();
                match character {
                    '\r' if characters.peek().is_none_or(|&next| next == '\n') => {}
                    '\n' | '\t' => self.text.push(character),
                    _ => plain::push(&mut self.text, character),
                }
            }
            for byte in chunk.invalid() {
                self.at.push((from, self.text.len()));
                from += 1;
                self.text.push_str(&format!("\\x{byte:02x}"));
            }
        }
        self.at.push((from, self.text.len()));
    }

    /// Where a byte of the file went; a byte inside a character counts as that character's first.
    fn of(&self, byte: usize) -> Option<usize> {
        let behind = self.at.partition_point(|&(from, _)| from <= byte);
        self.at.get(behind.checked_sub(1)?).filter(|_| behind < self.at.len() || self.ends_at(byte)).map(|&(_, to)| to)
    }

    fn ends_at(&self, byte: usize) -> bool {
        self.at.last().is_some_and(|&(from, _)| from == byte)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Lines;

    fn cut(text: &[u8], spans: &[(usize, usize)]) -> Excerpt {
        let lines = Lines::new(text);
        let marks: Vec<_> = spans
            .iter()
            .map(|&(start, end)| Mark {
                span: Span::new(start as u32, end as u32),
                region: Region { start: lines.position(start as u32), end: lines.position(end as u32) },
                label: "",
            })
            .collect();
        Excerpt::cut("a.rig", text, &marks).unwrap()
    }

    #[test]
    fn labels_move_with_the_text() {
        for (text, word, shown, name) in [
            (&b"one\ntwo three\nfour"[..], &b"three"[..], "two three", "a.rig:2:5"),
            (b"\xef\xbb\xbfrig one\r\nx", b"one", "rig one", "a.rig:1:5"),
            ("a\u{1b}[31m é three".as_bytes(), b"three", "a\\u{1b}[31m é three", "a.rig:1:10"),
            (b"a\xff\xfe three", b"three", "a\\xff\\xfe three", "a.rig:1:5"),
            (b"\t\x7fthree", b"three", "\t\\u{7f}three", "a.rig:1:3"),
        ] {
            let start = text.windows(word.len()).position(|bytes| bytes == word).unwrap();
            let excerpt = cut(text, &[(start, start + word.len())]);
            assert_eq!((excerpt.text.as_str(), excerpt.name.as_str()), (shown, name));
            assert_eq!(excerpt.text[excerpt.labels[0].0.clone()].as_bytes(), word);
        }
    }

    #[test]
    fn long_lines_are_cut_around_the_label() {
        let text = format!("{}three{}", "é".repeat(5_000), "é".repeat(5_000));
        let excerpt = cut(text.as_bytes(), &[(10_000, 10_005)]);
        assert!(excerpt.text.starts_with('…') && excerpt.text.ends_with('…'));
        assert!(excerpt.text.len() < 300, "{}", excerpt.text);
        assert_eq!(&excerpt.text[excerpt.labels[0].0.clone()], "three");
    }

    #[test]
    fn labels_that_span_lines_end_with_their_first() {
        let excerpt = cut(b"model {\n  x\n}\n", &[(0, 13)]);
        assert_eq!(&excerpt.text[excerpt.labels[0].0.clone()], "model {");
    }

    #[test]
    fn any_place_gives_an_excerpt() {
        for (text, start, end) in
            [(&b""[..], 0, 0), (b"abc", 3, 3), (b"abc", 9, 12), (b"\n\n", 1, 1), (b"\xef\xbb\xbf", 0, 1)]
        {
            let excerpt = cut(text, &[(start, end)]);
            assert!(excerpt.labels[0].0.end <= excerpt.text.len());
        }
    }
}
