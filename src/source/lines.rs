//! Byte offsets to lines and columns.

use super::Span;
use std::borrow::Cow;

/// Where a byte stands for a reader: everything counts from 1 but `utf16`, which counts from 0 as the language
/// server protocol does.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Position {
    /// Line, from 1. LF and CRLF end a line.
    pub line: u32,
    /// Column in Unicode characters, from 1. A byte-order mark at the start of the text is not counted.
    pub column: u32,
    /// Column in UTF-16 code units, from 0.
    pub utf16: u32,
}

/// The line starts of one text.
#[derive(Debug)]
pub struct Lines<'t> {
    text: &'t [u8],
    starts: Cow<'t, [u32]>,
}

impl<'t> Lines<'t> {
    /// Finds the line starts of `text`.
    pub fn new(text: &'t [u8]) -> Self {
        Self { text, starts: Cow::Owned(Self::starts(text).into_vec()) }
    }

    /// Where the lines of `text` start, to be kept beside it for [`Lines::at`].
    pub fn starts(text: &[u8]) -> Box<[u32]> {
        std::iter::once(0).chain(memchr::memchr_iter(b'\n', text).map(|at| at as u32 + 1)).collect()
    }

    /// Lines whose starts are known from [`Lines::starts`].
    pub const fn at(text: &'t [u8], starts: &'t [u32]) -> Self {
        Self { text, starts: Cow::Borrowed(starts) }
    }

    /// How many lines there are; a text that ends in a line end has an empty last line.
    pub fn count(&self) -> u32 {
        self.starts.len() as u32
    }

    /// The position of a byte. An offset past the end gives the end of the text.
    pub fn position(&self, byte: u32) -> Position {
        let byte = byte.min(self.text.len() as u32);
        let line = self.starts.partition_point(|&start| start <= byte);
        let mut start = self.starts[line - 1] as usize;
        if start == 0 && self.text.starts_with(b"\xef\xbb\xbf") {
            start = 3.min(byte as usize);
        }
        self.further(Position { line: line as u32, column: 1, utf16: 0 }, start as u32, byte)
    }

    /// The position of a byte, where that of an earlier byte is known: in one very long line with many places, counting
    /// on from the last place takes the time that counting from the start of the line would take for one.
    pub fn position_behind(&self, known: (u32, Position), byte: u32) -> Position {
        let (from, position) = known;
        let byte = byte.min(self.text.len() as u32);
        let same_line = self.starts.get(position.line as usize).is_none_or(|&next| byte < next);
        // Beside bytes that are no text, and in a mark at the start, counting on would differ.
        if same_line
            && (3..=byte).contains(&from)
            && std::str::from_utf8(self.text.get(from as usize..byte as usize).unwrap_or(b"\xff")).is_ok()
        {
            return self.further(position, from, byte);
        }
        self.position(byte)
    }

    /// Counts on in one line.
    fn further(&self, mut position: Position, from: u32, to: u32) -> Position {
        for chunk in self.text.get(from as usize..to as usize).unwrap_or_default().utf8_chunks() {
            for character in chunk.valid().chars() {
                position.column += 1;
                position.utf16 += character.len_utf16() as u32;
            }
            if !chunk.invalid().is_empty() {
                position.column += 1;
                position.utf16 += 1;
            }
        }
        position
    }

    /// The bytes of a line (from 1) without its line end, and the offset of its first byte.
    pub fn line(&self, line: u32) -> Option<Span> {
        let index = line.checked_sub(1)? as usize;
        let start = *self.starts.get(index)?;
        let mut end = self.starts.get(index + 1).map_or(self.text.len() as u32, |next| next - 1);
        if end > start && self.text.get(end as usize - 1) == Some(&b'\r') && (end as usize) < self.text.len() {
            end -= 1;
        }
        Some(Span::new(start, end))
    }

    /// Where the characters of the line that holds a byte begin: behind a byte-order mark.
    fn first_of_line(&self, byte: u32) -> u32 {
        let line = self.starts.partition_point(|&start| start <= byte);
        match line.checked_sub(1).and_then(|index| self.starts.get(index)) {
            Some(0) | None if self.text.starts_with(b"\xef\xbb\xbf") => 3,
            start => start.copied().unwrap_or_default(),
        }
    }

    /// The column of a byte in UTF-8 code units, from 0. An offset past the end gives the end of the text.
    pub fn utf8_column(&self, byte: u32) -> u32 {
        let byte = byte.min(self.text.len() as u32);
        byte.saturating_sub(self.first_of_line(byte))
    }

    /// The byte of a line (from 1) and a UTF-8 column (from 0), as an editor gives it; clamped to the line, and to the start
    /// of the character that it lies in.
    pub fn byte_of_utf8(&self, line: u32, column: u32) -> Option<u32> {
        let span = self.line(line)?;
        let first = self.first_of_line(span.start);
        let mut at = first.saturating_add(column).min(span.end.max(first));
        let inside = |at: u32| self.text.get(at as usize).is_some_and(|byte| byte & 0xc0 == 0x80);
        let end = at;
        while at > first && end - at < 3 && inside(at) {
            at -= 1;
        }
        // What begins no character is counted by bytes.
        Some(if inside(at) { end } else { at })
    }

    /// The byte of a line (from 1) and a UTF-16 column (from 0), as an editor gives it; clamped to the line.
    pub fn byte_of_utf16(&self, line: u32, utf16: u32) -> Option<u32> {
        let span = self.line(line)?;
        let mut at = span.start;
        if at == 0 && self.text.starts_with(b"\xef\xbb\xbf") {
            at = 3;
        }
        let mut left = utf16;
        for chunk in self.text[at as usize..span.end.max(at) as usize].utf8_chunks() {
            for character in chunk.valid().chars() {
                if left == 0 {
                    return Some(at);
                }
                left = left.saturating_sub(character.len_utf16() as u32);
                at += character.len_utf8() as u32;
            }
            if left > 0 && !chunk.invalid().is_empty() {
                left -= 1;
                at += chunk.invalid().len() as u32;
            }
        }
        Some(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_utf16_units() {
        let text = "\u{feff}rig 1\r\n\tmodel \"é🪶x\"\r\n";
        let lines = Lines::new(text.as_bytes());
        let at = text.find('x').unwrap() as u32;
        assert_eq!(lines.position(at), Position { line: 2, column: 11, utf16: 11 });
        assert_eq!(lines.byte_of_utf16(2, 11), Some(at));
        assert_eq!(lines.position(3), Position { line: 1, column: 1, utf16: 0 });
        assert_eq!(lines.line(1).unwrap().of(text.as_bytes()), "\u{feff}rig 1".as_bytes());
        assert_eq!(lines.count(), 3);
        assert_eq!(lines.position(9_999).line, 3);
    }

    #[test]
    fn columns_of_bytes_lead_back_to_them() {
        let text = "\u{feff}rig 1\r\n\tmodel \"é🪶x\"\r\n";
        let lines = Lines::new(text.as_bytes());
        for (at, _) in text.char_indices().filter(|(at, _)| *at >= 3) {
            let line = lines.position(at as u32).line;
            let end = lines.line(line).map_or(0, |span| span.end);
            assert_eq!(lines.byte_of_utf8(line, lines.utf8_column(at as u32)), Some((at as u32).min(end)), "{at}");
        }
        let feather = text.find('🪶').unwrap() as u32;
        for inside in 1..4 {
            assert_eq!(lines.byte_of_utf8(2, lines.utf8_column(feather + inside)), Some(feather));
        }
        assert_eq!(lines.byte_of_utf8(1, 99), Some(8));
        assert_eq!(lines.byte_of_utf8(9, 0), None);
        assert_eq!(Lines::new(b"a\xbf\xbf\xbf\xbfb").byte_of_utf8(1, 4), Some(4));
    }

    #[test]
    fn counting_on_gives_the_same_as_counting_anew() {
        for text in ["\u{feff}a é🪶x\tb\nc\n", "", "\u{feff}", "aé"] {
            let lines = Lines::new(text.as_bytes());
            for from in 0..=text.len() as u32 {
                for to in 0..=text.len() as u32 + 1 {
                    let known = (from, lines.position(from));
                    assert_eq!(lines.position_behind(known, to), lines.position(to), "{text:?} {from} {to}");
                }
            }
        }
    }

    #[test]
    fn bytes_that_are_no_utf8_count_as_one_column() {
        let lines = Lines::new(b"a\xffb\n");
        assert_eq!(lines.position(2).column, 3);
    }
}
