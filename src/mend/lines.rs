//! The lines of a text as edits need them.

use crate::source::Span;

/// Whether a byte is white space within a line.
pub(super) const fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r')
}

/// Whether all bytes of a range are white space within a line.
pub(super) fn all_blank(text: &[u8], from: u32, to: u32) -> bool {
    Span::new(from, to).of(text).iter().copied().all(is_blank)
}

/// The first byte of the line that holds this one. A byte-order mark belongs to no line.
pub(super) fn line_start(text: &[u8], at: u32) -> u32 {
    let before = text.get(..at as usize).unwrap_or_default();
    let start = memchr::memrchr(b'\n', before).map_or(0, |found| found as u32 + 1);
    if start == 0 && text.starts_with(b"\xef\xbb\xbf") { 3.min(at) } else { start }
}

/// One past the line end of the line that holds this byte, or the end of the text.
pub(super) fn line_end(text: &[u8], at: u32) -> u32 {
    let after = text.get(at as usize..).unwrap_or_default();
    memchr::memchr(b'\n', after).map_or(text.len() as u32, |found| at + found as u32 + 1)
}

/// The white space at the start of the line that holds this byte.
pub(super) fn indent(text: &[u8], at: u32) -> &[u8] {
    let start = line_start(text, at);
    let line = text.get(start as usize..).unwrap_or_default();
    let length = line.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).count();
    line.get(..length).unwrap_or_default()
}

/// The line end that the text uses: that of its first line.
pub(super) fn line_break(text: &[u8]) -> &'static str {
    match memchr::memchr(b'\n', text) {
        Some(at) if at > 0 && text.get(at - 1) == Some(&b'\r') => "\r\n",
        _ => "\n",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_with_marks_and_ends() {
        let text = b"\xef\xbb\xbfrig 1\r\n\t x\r\nlast";
        for (at, start, end) in [(3, 3, 10), (8, 3, 10), (10, 10, 15), (12, 10, 15), (17, 15, 19)] {
            assert_eq!((line_start(text, at), line_end(text, at)), (start, end), "{at}");
        }
        assert_eq!(indent(text, 12), b"\t ");
        assert_eq!((line_break(text), line_break(b"a\nb\r\n"), line_break(b"a")), ("\r\n", "\n", "\n"));
    }
}
