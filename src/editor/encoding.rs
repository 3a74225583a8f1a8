//! How an editor counts columns.

use crate::source::{Lines, Span};
use gen_lsp_types::{Position, Range};
use serde_json::Value;

/// The code units in which columns are counted.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Default)]
pub(super) enum Encoding {
    /// Bytes.
    Utf8,
    /// What every editor knows.
    #[default]
    Utf16,
}

impl Encoding {
    /// The one to use with an editor that offers these: bytes, since no character is then counted.
    pub(super) fn among(offered: Option<&Value>) -> Self {
        let offered = offered.and_then(Value::as_array);
        match offered.is_some_and(|offered| offered.iter().any(|one| one == "utf-8")) {
            true => Self::Utf8,
            false => Self::Utf16,
        }
    }

    /// As the protocol names it.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Utf8 => "utf-8",
            Self::Utf16 => "utf-16",
        }
    }

    /// The position of a byte.
    pub(super) fn position(self, lines: &Lines<'_>, byte: u32) -> Position {
        let position = lines.position(byte);
        let character = match self {
            Self::Utf8 => lines.utf8_column(byte),
            Self::Utf16 => position.utf16,
        };
        Position { line: position.line - 1, character }
    }

    /// The positions of a range of bytes.
    pub(super) fn range(self, lines: &Lines<'_>, span: Span) -> Range {
        Range { start: self.position(lines, span.start), end: self.position(lines, span.end) }
    }

    /// The byte of a position; one behind the last line is the end of the text.
    pub(super) fn byte(self, lines: &Lines<'_>, position: Position) -> u32 {
        let line = position.line.saturating_add(1);
        let byte = match self {
            Self::Utf8 => lines.byte_of_utf8(line, position.character),
            Self::Utf16 => lines.byte_of_utf16(line, position.character),
        };
        byte.unwrap_or_else(|| lines.line(lines.count()).map_or(0, |last| last.end))
    }

    /// The bytes of a range; one that ends before it begins is empty.
    pub(super) fn span(self, lines: &Lines<'_>, range: Range) -> Span {
        let start = self.byte(lines, range.start);
        Span::new(start, self.byte(lines, range.end).max(start))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn positions_lead_back_to_their_bytes() {
        let text = "rig 1\r\ncraft \"é🪶x\" {\n}";
        let lines = Lines::new(text.as_bytes());
        for encoding in [Encoding::Utf8, Encoding::Utf16] {
            for (at, character) in text.char_indices() {
                if !matches!(character, '\n') {
                    let position = encoding.position(&lines, at as u32);
                    assert_eq!(encoding.byte(&lines, position), at as u32, "{encoding:?} {at}");
                }
            }
            let behind = Position { line: 9, character: 9 };
            assert_eq!(encoding.byte(&lines, behind), text.len() as u32);
        }
        let x = text.find('x').unwrap() as u32;
        assert_eq!(Encoding::Utf8.position(&lines, x), Position { line: 1, character: 13 });
        assert_eq!(Encoding::Utf16.position(&lines, x), Position { line: 1, character: 10 });
    }

    #[test]
    fn bytes_are_used_where_they_are_offered() {
        let among = |offered: &str| Encoding::among(serde_json::from_str::<Value>(offered).ok().as_ref());
        assert_eq!(among(r#"["utf-16","utf-8"]"#), Encoding::Utf8);
        assert_eq!(among(r#"["utf-32"]"#), Encoding::Utf16);
        assert_eq!(among("7"), Encoding::Utf16);
        assert_eq!(Encoding::among(None), Encoding::Utf16);
    }
}
