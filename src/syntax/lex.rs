//! Bytes to tokens, with nom.

use super::{Comment, Kind, MAX_PROBLEMS, Problem, Tables, Token, Trouble, Unit};
use crate::source::Span;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::combinator::{opt, recognize};
use nom::sequence::preceded;
use nom::{IResult, Parser};

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

/// What stands behind the bytes of a class at the start of `input`.
fn behind(class: u8, input: &[u8]) -> &[u8] {
    let length = input.iter().position(|&byte| !is(class, byte)).unwrap_or(input.len());
    input.get(length..).unwrap_or_default()
}

fn digits(input: &[u8]) -> IResult<&[u8], &[u8]> {
    take_while1(|byte| is(DIGIT, byte)).parse(input)
}

fn digits_and_fraction(input: &[u8]) -> IResult<&[u8], &[u8]> {
    recognize((opt(tag("-")), digits, opt((tag("."), digits)))).parse(input)
}

fn range_tail(input: &[u8]) -> IResult<&[u8], &[u8]> {
    preceded(tag(".."), digits_and_fraction).parse(input)
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

/// Fills the tokens and comments of `tables` from `bytes`, which is at most `MAX_BYTES` long.
pub(super) fn tokens(bytes: &[u8], tables: &mut Tables) {
    let mark = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    part_tokens(bytes, mark, tables);
}

/// The same from a byte on.
pub(super) fn part_tokens(bytes: &[u8], from: u32, tables: &mut Tables) {
    let mut lexer = Lexer { bytes, tables, line_is_empty: true, line_is_broken: false };
    let mut rest = bytes.get(from as usize..).unwrap_or_default();
    loop {
        rest = behind(BLANK, rest);
        let Some(&first) = rest.first() else { break };
        rest = lexer.token(first, rest);
    }
}

struct Lexer<'a> {
    bytes: &'a [u8],
    tables: &'a mut Tables,
    line_is_empty: bool,
    /// One broken line is one problem.
    line_is_broken: bool,
}

impl<'a> Lexer<'a> {
    fn at(&self, rest: &[u8]) -> u32 {
        (self.bytes.len() - rest.len()) as u32
    }

    fn push(&mut self, kind: Kind, from: &[u8], rest: &[u8]) {
        self.line_is_empty = kind == Kind::EndOfLine;
        self.line_is_broken &= !self.line_is_empty;
        self.tables.tokens.push(Token { kind, start: self.at(from), end: self.at(rest) });
    }

    fn problem(&mut self, trouble: Trouble, from: &[u8], rest: &[u8]) {
        if std::mem::replace(&mut self.line_is_broken, true) {
            return;
        }
        let span = Span::new(self.at(from), self.at(rest));
        problem(&mut self.tables.problems, trouble, span, None);
    }

    fn token(&mut self, first: u8, from: &'a [u8]) -> &'a [u8] {
        let sign = |kind| (kind, from.get(1..).unwrap_or_default());
        let (kind, rest) = match first {
            b'#' => return self.comment(from),
            b'"' => return self.text(from),
            b'\n' => sign(Kind::EndOfLine),
            b'{' => sign(Kind::BlockOpen),
            b'}' => sign(Kind::BlockClose),
            b';' => sign(Kind::Semicolon),
            b',' => sign(Kind::Comma),
            b':' => sign(Kind::Colon),
            b'=' => sign(Kind::Equals),
            b'+' => sign(Kind::Plus),
            b'*' => sign(Kind::Star),
            b'(' => sign(Kind::Open),
            b')' => sign(Kind::Close),
            b'0'..=b'9' => return self.number(from),
            b'-' if from.get(1).is_some_and(u8::is_ascii_digit) => return self.number(from),
            b'-' => sign(Kind::Minus),
            _ if is(START, first) => (Kind::Word, behind(WORD, from)),
            _ => return self.bad(from),
        };
        self.push(kind, from, rest);
        rest
    }

    fn comment(&mut self, from: &'a [u8]) -> &'a [u8] {
        let mut length = memchr::memchr(b'\n', from).unwrap_or(from.len());
        while length > 1 && from.get(length - 1) == Some(&b'\r') {
            length -= 1;
        }
        let rest = from.get(length..).unwrap_or_default();
        let span = Span::new(self.at(from), self.at(rest));
        self.tables.comments.push(Comment { span, before: 0, own_line: self.line_is_empty });
        rest
    }

    fn text(&mut self, from: &'a [u8]) -> &'a [u8] {
        match text(from) {
            Ok((rest, sound)) => {
                self.push(if sound { Kind::Text } else { Kind::Bad }, from, rest);
                if !sound {
                    self.problem(Trouble::Escape, from, rest);
                }
                rest
            }
            Err(rest) => {
                let mut end = from.len() - rest.len();
                while end > 1 && matches!(from.get(end - 1), Some(b'\r')) {
                    end -= 1;
                }
                let rest = from.get(end..).unwrap_or_default();
                self.push(Kind::Bad, from, rest);
                self.problem(Trouble::OpenString, from, rest);
                rest
            }
        }
    }

    fn number(&mut self, from: &'a [u8]) -> &'a [u8] {
        let Ok((mut rest, number)) = digits_and_fraction(from) else { return self.bad(from) };
        let mut kind = Kind::Number;
        let mut long = is_long(number);
        if let Ok((after, second)) = range_tail(rest) {
            (rest, kind) = (after, Kind::Range);
            long |= is_long(second);
        }
        if rest.first() == Some(&b',') && rest.get(1).is_some_and(u8::is_ascii_digit) && kind == Kind::Number {
            // A decimal comma, or a list without spaces: one message for the whole run of digits and commas.
            let (after, _) = take_while::<_, _, nom::error::Error<&[u8]>>(|byte: u8| {
                byte.is_ascii_digit() || matches!(byte, b',' | b'.')
            })
            .parse(rest)
            .unwrap_or((rest, rest));
            self.push(Kind::Bad, from, after);
            self.problem(Trouble::DecimalComma, from, after);
            return self.unit(after);
        }
        let glued = rest.first().is_some_and(|&byte| byte == b'.' || byte == b'_');
        if glued || long {
            let (after, _) = take_while::<_, _, nom::error::Error<&[u8]>>(|byte: u8| is(WORD, byte) || byte == b'.')
                .parse(rest)
                .unwrap_or((rest, rest));
            self.push(Kind::Bad, from, after);
            self.problem(Trouble::Number, from, after);
            return self.unit(after);
        }
        self.push(kind, from, rest);
        self.unit(rest)
    }

    /// A unit behind the number that ends at `rest`, where there is one on the line.
    fn unit(&mut self, rest: &'a [u8]) -> &'a [u8] {
        let from = behind(BLANK, rest);
        match from.first() {
            Some(b'%') => {
                let after = from.get(1..).unwrap_or_default();
                self.push(Kind::Unit(Unit::Percent), from, after);
                after
            }
            Some(&first) if is(START, first) => {
                let after = behind(WORD, from);
                let name = from.get(..from.len() - after.len()).unwrap_or_default();
                match Unit::find(name) {
                    // `2 min(` is the function behind a number that misses its unit, not minutes.
                    Some(unit) if after.first() != Some(&b'(') => {
                        self.push(Kind::Unit(unit), from, after);
                        after
                    }
                    _ => rest,
                }
            }
            _ => rest,
        }
    }

    fn bad(&mut self, from: &'a [u8]) -> &'a [u8] {
        let length = from
            .utf8_chunks()
            .next()
            .map_or(1, |chunk| chunk.valid().chars().next().map_or(chunk.invalid().len().max(1), char::len_utf8));
        // A run of odd characters is one problem.
        let more = from.iter().skip(length).take_while(|byte| {
            !byte.is_ascii_alphanumeric()
                && !byte.is_ascii_whitespace()
                && !b"#\"{}();,:=+*-".contains(byte)
                && **byte < 0x80
        });
        let rest = from.get(length + more.count()..).unwrap_or_default();
        self.push(Kind::Bad, from, rest);
        self.problem(Trouble::Character, from, rest);
        rest
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
