//! Bytes to tokens, and to the statements of a text in which nothing is wrong.

use super::plain::Plain;
use super::{Comment, Kind, MAX_PROBLEMS, Problem, Tables, Token, Trouble, Unit};
use crate::source::Span;

/// The most digits of a number, so that its value fits an exact 64-bit decimal.
pub(super) const MAX_DIGITS: usize = 15;

/// What a byte can be part of, looked up instead of compared: most of the time of reading goes into runs of bytes.
const BLANK: u8 = 1;
const WORD: u8 = 2;
const START: u8 = 4;
const DIGIT: u8 = 8;
const CLASSES: [u8; 256] = {
    let mut classes = [0; 256];
    let mut at = 0;
    while at < 256 {
        let byte = at as u8;
        if matches!(byte, b' ' | b'\t' | b'\r') {
            classes[at] |= BLANK;
        }
        if byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'_') || byte >= 0x80 {
            classes[at] |= WORD;
        }
        if byte.is_ascii_alphabetic() || byte >= 0x80 {
            classes[at] |= START;
        }
        if byte.is_ascii_digit() {
            classes[at] |= DIGIT;
        }
        at += 1;
    }
    classes
};

fn is(class: u8, byte: u8) -> bool {
    CLASSES[usize::from(byte)] & class != 0
}

/// A string up to its closing quote; the flag tells whether every escape is one.
fn text(input: &[u8]) -> Result<(&[u8], bool), &[u8]> {
    let (mut at, mut sound) = (1, true);
    loop {
        match input.get(at) {
            None | Some(b'\n') => return Err(input.get(at..).unwrap_or_default()),
            Some(b'"') => return Ok((input.get(at + 1..).unwrap_or_default(), sound)),
            Some(b'\\') => {
                let (length, good) = escape(input.get(at..).unwrap_or_default());
                sound &= good;
                at += length;
            }
            Some(_) => at += 1,
        }
    }
}

/// The length of the escape at the start of `input`, and whether it is one.
fn escape(input: &[u8]) -> (usize, bool) {
    match input.get(1) {
        Some(b'"' | b'\\' | b'n' | b't') => (2, true),
        Some(b'u') if input.get(2) == Some(&b'{') => {
            let digits = input.iter().skip(3).take_while(|byte| byte.is_ascii_hexdigit()).count();
            let closed = input.get(3 + digits) == Some(&b'}');
            let code = std::str::from_utf8(input.get(3..3 + digits).unwrap_or_default())
                .ok()
                .and_then(|hex| u32::from_str_radix(hex, 16).ok())
                .and_then(char::from_u32);
            (3 + digits + usize::from(closed), closed && code.is_some())
        }
        Some(b'\n') | None => (1, false),
        Some(_) => (2, false),
    }
}

/// Fills the tokens and comments of `tables` from `bytes`, which is at most `MAX_BYTES` long, and the statements where nothing
/// is wrong: whether that is so is given back.
pub(super) fn tokens(bytes: &[u8], tables: &mut Tables) -> bool {
    let mark = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    part_tokens(bytes, mark, tables)
}

/// The same from a byte on.
pub(super) fn part_tokens(bytes: &[u8], from: u32, tables: &mut Tables) -> bool {
    let mut lexer = Lexer { bytes, tables, plain: Plain::default(), line_is_broken: false };
    let mut at = from as usize;
    loop {
        at = lexer.blanks(at);
        let Some(&first) = bytes.get(at) else { break };
        at = lexer.token(first, at);
    }
    lexer.plain.end(lexer.tables)
}

struct Lexer<'a> {
    bytes: &'a [u8],
    tables: &'a mut Tables,
    plain: Plain,
    /// One broken line is one problem.
    line_is_broken: bool,
}

/// Eight spaces.
const SPACES: u64 = u64::from_ne_bytes([b' '; 8]);

impl Lexer<'_> {
    /// Where the blanks that begin at `at` end: eight at a time, without asking for each whether it is the last.
    fn blanks(&self, mut at: usize) -> usize {
        while let Some(chunk) = self.bytes.get(at..).and_then(|rest| rest.first_chunk()) {
            let spaces = ((u64::from_le_bytes(*chunk) ^ SPACES).trailing_zeros() / 8) as usize;
            at += spaces;
            if spaces < 8 {
                break;
            }
        }
        // Tabs, and the end of the text.
        if is(BLANK, self.byte(at)) { self.run(BLANK, at) } else { at }
    }

    /// Where the bytes of a class that begin at `at` end.
    fn run(&self, class: u8, mut at: usize) -> usize {
        while self.bytes.get(at).is_some_and(|&byte| is(class, byte)) {
            at += 1;
        }
        at
    }

    /// A byte; behind the last one a byte that no class has.
    fn byte(&self, at: usize) -> u8 {
        self.bytes.get(at).copied().unwrap_or_default()
    }

    fn slice(&self, from: usize, end: usize) -> &[u8] {
        self.bytes.get(from..end).unwrap_or_default()
    }

    fn push(&mut self, kind: Kind, from: usize, end: usize) -> usize {
        self.tables.tokens.push(Token { kind, start: from as u32, end: end as u32 });
        end
    }

    /// A part of a statement.
    fn item(&mut self, kind: Kind, from: usize, end: usize) -> usize {
        self.plain.item(kind, self.tables);
        self.push(kind, from, end)
    }

    #[cold]
    fn problem(&mut self, trouble: Trouble, from: usize, end: usize) {
        self.plain.refuse();
        if std::mem::replace(&mut self.line_is_broken, true) {
            return;
        }
        problem(&mut self.tables.problems, trouble, Span::new(from as u32, end as u32), None);
    }

    fn token(&mut self, first: u8, from: usize) -> usize {
        if is(START, first) {
            let end = self.run(WORD, from + 1);
            return self.item(Kind::Word, from, end);
        }
        let kind = match first {
            b'#' => return self.comment(from),
            b'"' => return self.text(from),
            b'\n' => {
                self.line_is_broken = false;
                self.plain.end_of_line(self.tables);
                return self.push(Kind::EndOfLine, from, from + 1);
            }
            b'{' => {
                self.plain.open(self.tables);
                return self.push(Kind::BlockOpen, from, from + 1);
            }
            b'}' => {
                self.plain.close(self.tables);
                return self.push(Kind::BlockClose, from, from + 1);
            }
            b';' => {
                self.plain.semicolon(self.tables);
                return self.push(Kind::Semicolon, from, from + 1);
            }
            b',' => Kind::Comma,
            b':' => Kind::Colon,
            b'=' => Kind::Equals,
            b'+' => Kind::Plus,
            b'*' => Kind::Star,
            b'(' => Kind::Open,
            b')' => Kind::Close,
            b'0'..=b'9' => return self.number(from),
            b'-' if is(DIGIT, self.byte(from + 1)) => return self.number(from),
            b'-' => Kind::Minus,
            _ => return self.bad(from),
        };
        self.item(kind, from, from + 1)
    }

    fn comment(&mut self, from: usize) -> usize {
        let rest = self.bytes.get(from..).unwrap_or_default();
        let mut end = memchr::memchr(b'\n', rest).map_or(self.bytes.len(), |length| from + length);
        while end > from + 1 && self.byte(end - 1) == b'\r' {
            end -= 1;
        }
        let span = Span::new(from as u32, end as u32);
        let own_line = self.tables.tokens.last().is_none_or(|token| token.kind == Kind::EndOfLine);
        let before = self.tables.statements.len() as u32;
        self.tables.comments.push(Comment { span, before, own_line });
        end
    }

    #[inline(never)]
    fn text(&mut self, from: usize) -> usize {
        let rest = self.bytes.get(from..).unwrap_or_default();
        match text(rest) {
            Ok((behind, sound)) => {
                let end = self.bytes.len() - behind.len();
                self.item(if sound { Kind::Text } else { Kind::Bad }, from, end);
                if !sound {
                    self.problem(Trouble::Escape, from, end);
                }
                end
            }
            Err(behind) => {
                let mut end = self.bytes.len() - behind.len();
                while end > from + 1 && self.byte(end - 1) == b'\r' {
                    end -= 1;
                }
                self.item(Kind::Bad, from, end);
                self.problem(Trouble::OpenString, from, end);
                end
            }
        }
    }

    /// Where the digits that begin at `at` end, with those behind a point.
    fn digits(&self, at: usize) -> usize {
        let end = self.run(DIGIT, at);
        if self.byte(end) == b'.' && is(DIGIT, self.byte(end + 1)) { self.run(DIGIT, end + 1) } else { end }
    }

    fn number(&mut self, from: usize) -> usize {
        let end = self.run(DIGIT, from + 1);
        let next = self.byte(end);
        if matches!(next, b'.' | b',' | b'_') || end - from > MAX_DIGITS {
            return self.odd_number(from);
        }
        self.item(Kind::Number, from, end);
        // Most numbers that have no unit are the last of their line.
        if next == b'\n' { end } else { self.unit(end) }
    }

    /// A number that is more than a few digits, or none.
    #[inline(never)]
    fn odd_number(&mut self, from: usize) -> usize {
        let mut end = self.digits(from + usize::from(self.byte(from) == b'-'));
        let mut kind = Kind::Number;
        let mut long = is_long(self.slice(from, end));
        if self.byte(end) == b'.' && self.byte(end + 1) == b'.' {
            let second = end + 2;
            let first_digit = second + usize::from(self.byte(second) == b'-');
            if is(DIGIT, self.byte(first_digit)) {
                (end, kind) = (self.digits(first_digit), Kind::Range);
                long |= is_long(self.slice(second, end));
            }
        }
        let next = self.byte(end);
        if next == b',' && is(DIGIT, self.byte(end + 1)) && kind == Kind::Number {
            // A decimal comma, or a list without spaces: one message for the whole run of digits and commas.
            let rest = self.bytes.get(end..).unwrap_or_default();
            let more = rest.iter().take_while(|byte| byte.is_ascii_digit() || matches!(byte, b',' | b'.'));
            let after = self.item(Kind::Bad, from, end + more.count());
            self.problem(Trouble::DecimalComma, from, after);
            return self.unit(after);
        }
        if long || next == b'.' || next == b'_' {
            let rest = self.bytes.get(end..).unwrap_or_default();
            let more = rest.iter().take_while(|&&byte| is(WORD, byte) || byte == b'.');
            let after = self.item(Kind::Bad, from, end + more.count());
            self.problem(Trouble::Number, from, after);
            return self.unit(after);
        }
        self.item(kind, from, end);
        self.unit(end)
    }

    /// A unit behind the number that ends at `end`, where there is one on the line.
    fn unit(&mut self, end: usize) -> usize {
        let from = self.blanks(end);
        let first = self.byte(from);
        if first == b'%' {
            return self.item(Kind::Unit(Unit::Percent), from, from + 1);
        }
        if !is(START, first) {
            return end;
        }
        let after = self.run(WORD, from);
        match Unit::find(self.slice(from, after)) {
            // `2 min(` is the function behind a number that misses its unit, not minutes.
            Some(unit) if self.byte(after) != b'(' => self.item(Kind::Unit(unit), from, after),
            _ => end,
        }
    }

    #[cold]
    fn bad(&mut self, from: usize) -> usize {
        // No character is longer than four bytes.
        let length = self
            .slice(from, (from + 4).min(self.bytes.len()))
            .utf8_chunks()
            .next()
            .map_or(1, |chunk| chunk.valid().chars().next().map_or(chunk.invalid().len().max(1), char::len_utf8));
        // A run of odd characters is one problem.
        let more = self.bytes.iter().skip(from + length).take_while(|byte| {
            !byte.is_ascii_alphanumeric()
                && !byte.is_ascii_whitespace()
                && !b"#\"{}();,:=+*-".contains(byte)
                && **byte < 0x80
        });
        let end = from + length + more.count();
        self.item(Kind::Bad, from, end);
        self.problem(Trouble::Character, from, end);
        end
    }
}

/// Whether a number has more digits than can be kept exactly.
fn is_long(number: &[u8]) -> bool {
    number.len() > MAX_DIGITS && number.iter().filter(|byte| byte.is_ascii_digit()).count() > MAX_DIGITS
}

/// Adds a problem, up to the limit.
pub(super) fn problem(problems: &mut Vec<Problem>, trouble: Trouble, span: Span, other: Option<Span>) {
    match problems.len() {
        n if n < MAX_PROBLEMS => problems.push(Problem { span, trouble, other }),
        n if n == MAX_PROBLEMS => problems.push(Problem { span, trouble: Trouble::TooManyProblems, other: None }),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn eight_blanks_at_a_time_are_those_one_by_one() {
        for spaces in 0..40 {
            for behind in ["", "a", "\t", "\t  a", "\r\n", "\0", "#", "\u{a0}"] {
                let text = format!("{}{behind}", " ".repeat(spaces));
                let (bytes, tables) = (text.as_bytes(), &mut Tables::default());
                let lexer = Lexer { bytes, tables, plain: Plain::default(), line_is_broken: false };
                for from in 0..=bytes.len() {
                    assert_eq!(lexer.blanks(from), lexer.run(BLANK, from), "{text:?} from {from}");
                }
            }
        }
    }
}
