//! JSON text (RFC 8259) to a flat tape of its values with their places. What is read stays in the text; strings are
//! decoded where they are asked for.

use crate::fleet::problem::{Problem, ProblemKind};
use crate::source::{FileId, Place, Span};
use crate::syntax::{MAX_BYTES, MAX_NESTING};
use nom::branch::alt;
use nom::bytes::complete::{tag, take_while, take_while1};
use nom::character::complete::{digit1, one_of};
use nom::combinator::{opt, recognize};
use nom::{IResult, Parser};

/// How deep values may stand in each other: a block is an object in an array, and lists stand deepest.
pub const MAX_DEPTH: usize = 2 * MAX_NESTING + 8;

/// What a value is.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Kind {
    /// An object: its keys and values follow, each key before its value.
    Object,
    /// An array: its values follow.
    Array,
    /// A string; the key of an object too.
    Text,
    /// A number.
    Number,
    /// `true`
    True,
    /// `false`
    False,
    /// `null`
    Null,
}

impl Kind {
    /// How a message names it.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Object => "an object",
            Self::Array => "a list",
            Self::Text => "a text",
            Self::Number => "a number",
            Self::True => "`true`",
            Self::False => "`false`",
            Self::Null => "`null`",
        }
    }
}

/// A value with its place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Node {
    pub(super) kind: Kind,
    /// From its first to its last byte, brackets and quotes included.
    pub(super) span: Span,
    /// The index of what follows it on the tape.
    pub(super) after: u32,
}

/// The values of one text; the first is the whole.
#[derive(Debug, Default)]
pub(super) struct Tape {
    nodes: Vec<Node>,
}

impl Tape {
    /// Reads a text.
    ///
    /// # Errors
    /// What is wrong at the first byte that JSON can't have there.
    pub(super) fn read(file: FileId, bytes: &[u8]) -> Result<Self, Problem> {
        let at = |span| Place::new(file, span);
        if bytes.len() > MAX_BYTES {
            let message = format!("the file is larger than {} MiB and is not read", MAX_BYTES >> 20);
            return Err(Problem::new(
                ProblemKind::TooLarge,
                at(Span::default()),
                message,
                "split it into several files",
            ));
        }
        if let Err(error) = std::str::from_utf8(bytes) {
            let start = error.valid_up_to() as u32;
            let message = format!("byte {} of the file is not UTF-8 text", start + 1);
            let span = Span::new(start, start + 1);
            return Err(Problem::new(ProblemKind::Unreadable, at(span), message, "save the file as UTF-8"));
        }
        let mut reader = Reader { bytes, nodes: Vec::new(), open: Vec::new() };
        match reader.run() {
            Ok(()) => Ok(Self { nodes: reader.nodes }),
            Err(Trouble { span, message, mend, kind }) => Err(Problem::new(kind, at(span), message, mend)),
        }
    }

    /// A value by its index.
    pub(super) fn node(&self, index: u32) -> Option<Node> {
        self.nodes.get(index as usize).copied()
    }

    /// The indexes of the values directly in an array, or of the keys and values in turn of an object.
    pub(super) fn inside(&self, index: u32) -> impl Iterator<Item = u32> + '_ {
        let end = self.node(index).map_or(0, |node| node.after);
        let mut next = index + 1;
        std::iter::from_fn(move || {
            let here = next;
            next = self.node(here).filter(|_| here < end)?.after;
            Some(here)
        })
    }

    /// The keys of an object, each with the index of its value.
    pub(super) fn members(&self, index: u32) -> impl Iterator<Item = (Node, u32)> + '_ {
        let is_object = self.node(index).is_some_and(|node| node.kind == Kind::Object);
        let mut inside = self.inside(index);
        std::iter::from_fn(move || {
            let key = inside.next().filter(|_| is_object)?;
            Some((self.node(key)?, inside.next()?))
        })
    }
}

struct Trouble {
    kind: ProblemKind,
    span: Span,
    message: String,
    mend: &'static str,
}

/// What may stand next.
#[derive(Clone, Copy, PartialEq)]
enum Next {
    Value,
    ValueOrEnd,
    Key,
    KeyOrEnd,
    Colon,
    CommaOrEnd,
}

impl Next {
    const fn words(self, in_object: bool) -> &'static str {
        match (self, in_object) {
            (Self::Value, _) => "a value",
            (Self::ValueOrEnd, _) => "a value or `]`",
            (Self::Key, _) => "a key in quotes",
            (Self::KeyOrEnd, _) => "a key in quotes or `}`",
            (Self::Colon, _) => "`:` and the key's value",
            (Self::CommaOrEnd, true) => "`,` or `}`",
            (Self::CommaOrEnd, false) => "`,` or `]`",
        }
    }
}

struct Reader<'t> {
    bytes: &'t [u8],
    nodes: Vec<Node>,
    /// The objects and arrays that are open.
    open: Vec<u32>,
}

impl Reader<'_> {
    fn run(&mut self) -> Result<(), Trouble> {
        let mut at = if self.bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
        let mut next = Next::Value;
        loop {
            at = self.skip_blanks(at);
            let in_object = self.is_in_object();
            let Some(&first) = self.bytes.get(at) else { return Err(self.ends_early(next, in_object)) };
            match (next, first) {
                (Next::Value | Next::ValueOrEnd, b'{' | b'[') => {
                    next = if first == b'{' { Next::KeyOrEnd } else { Next::ValueOrEnd };
                    self.begin(at, first)?;
                    at += 1;
                    continue;
                }
                (Next::ValueOrEnd, b']') | (Next::KeyOrEnd, b'}') => at = self.end(at),
                (Next::CommaOrEnd, b'}') if in_object => at = self.end(at),
                (Next::CommaOrEnd, b']') if !in_object => at = self.end(at),
                (Next::CommaOrEnd, b',') => {
                    next = if in_object { Next::Key } else { Next::Value };
                    at += 1;
                    continue;
                }
                (Next::Colon, b':') => {
                    next = Next::Value;
                    at += 1;
                    continue;
                }
                (Next::Key | Next::KeyOrEnd, b'"') => {
                    at = self.scalar(at)?;
                    next = Next::Colon;
                    continue;
                }
                (Next::Value | Next::ValueOrEnd, b'"' | b'-' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z') => {
                    at = self.scalar(at)?;
                }
                _ => return Err(self.unexpected(at, next, in_object)),
            }
            // A value is complete.
            if self.open.is_empty() {
                at = self.skip_blanks(at);
                return match self.bytes.get(at) {
                    None => Ok(()),
                    Some(_) => {
                        Err(self.trouble(at, "something follows the object that is the whole file", "take it out"))
                    }
                };
            }
            next = Next::CommaOrEnd;
        }
    }

    fn skip_blanks(&self, at: usize) -> usize {
        let rest = self.bytes.get(at..).unwrap_or_default();
        at + rest.iter().take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n')).count()
    }

    fn is_in_object(&self) -> bool {
        let open = self.open.last().and_then(|&index| self.nodes.get(index as usize));
        open.is_some_and(|node| node.kind == Kind::Object)
    }

    fn push(&mut self, kind: Kind, start: usize, end: usize) {
        let after = self.nodes.len() as u32 + 1;
        self.nodes.push(Node { kind, span: Span::new(start as u32, end as u32), after });
    }

    fn begin(&mut self, at: usize, first: u8) -> Result<(), Trouble> {
        if self.open.len() >= MAX_DEPTH {
            let message = format!("values stand more than {MAX_DEPTH} deep in each other");
            let mend = "nothing that this program reads needs this";
            return Err(Trouble { kind: ProblemKind::TooLarge, ..self.trouble(at, &message, mend) });
        }
        self.open.push(self.nodes.len() as u32);
        self.push(if first == b'{' { Kind::Object } else { Kind::Array }, at, at + 1);
        Ok(())
    }

    fn end(&mut self, at: usize) -> usize {
        let after = self.nodes.len() as u32;
        if let Some(node) = self.open.pop().and_then(|index| self.nodes.get_mut(index as usize)) {
            node.after = after;
            node.span.end = at as u32 + 1;
        }
        at + 1
    }

    /// A string, number or word.
    fn scalar(&mut self, at: usize) -> Result<usize, Trouble> {
        let rest = self.bytes.get(at..).unwrap_or_default();
        let end = |after: &[u8]| self.bytes.len() - after.len();
        if rest.first() == Some(&b'"') {
            let close = self.string_end(at)?;
            self.push(Kind::Text, at, close);
            return Ok(close);
        }
        if let Ok((after, _)) = number(rest)
            && !after.first().is_some_and(|byte| byte.is_ascii_alphanumeric() || *byte == b'.')
        {
            let end = end(after);
            self.push(Kind::Number, at, end);
            return Ok(end);
        }
        let run: IResult<&[u8], &[u8]> =
            take_while1(|byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'+' | b'.' | b'_'))
                .parse(rest);
        let (after, word) = run.unwrap_or((rest, rest));
        let end = end(after);
        let kind = match word {
            b"true" => Kind::True,
            b"false" => Kind::False,
            b"null" => Kind::Null,
            _ => {
                let span = Span::new(at as u32, end as u32);
                let text = String::from_utf8_lossy(word);
                let (message, mend) = match word.first() {
                    Some(b'-' | b'0'..=b'9') => {
                        (format!("`{text}` is no number in JSON"), "write it like 3.5, or in quotes")
                    }
                    _ => (format!("`{text}` is no value in JSON"), "put texts in quotes"),
                };
                return Err(Trouble { span, ..self.trouble(at, &message, mend) });
            }
        };
        self.push(kind, at, end);
        Ok(end)
    }

    /// One past the closing quote of the string that begins at `start`.
    fn string_end(&self, start: usize) -> Result<usize, Trouble> {
        let mut at = start + 1;
        loop {
            let rest = self.bytes.get(at..).unwrap_or_default();
            let plain = rest.iter().take_while(|&&byte| byte >= 0x20 && byte != b'"' && byte != b'\\').count();
            at += plain;
            match self.bytes.get(at) {
                Some(b'"') => return Ok(at + 1),
                Some(b'\\') => {
                    let (length, character) = escape(self.bytes.get(at..).unwrap_or_default());
                    if character.is_none() {
                        let span = Span::new(at as u32, (at + length) as u32);
                        let message = "this escape is none that JSON has";
                        return Err(Trouble { span, ..self.trouble(at, message, "write a backslash as `\\\\`") });
                    }
                    at += length;
                }
                Some(b'\n' | b'\r') | None => {
                    let span = Span::new(start as u32, at as u32);
                    let message = "this text has no closing quote on its line";
                    return Err(Trouble { span, ..self.trouble(start, message, "close it with `\"`") });
                }
                Some(_) => {
                    let message = "a control character stands in this text";
                    return Err(self.trouble(at, message, "write it as an escape such as `\\t`"));
                }
            }
        }
    }

    fn trouble(&self, at: usize, message: &str, mend: &'static str) -> Trouble {
        let rest = self.bytes.get(at..).unwrap_or_default();
        let length = rest.utf8_chunks().next().and_then(|chunk| chunk.valid().chars().next()).map_or(0, char::len_utf8);
        let span = Span::new(at as u32, (at + length) as u32);
        Trouble { kind: ProblemKind::Syntax, span, message: message.to_owned(), mend }
    }

    fn unexpected(&self, at: usize, next: Next, in_object: bool) -> Trouble {
        let rest = self.bytes.get(at..).unwrap_or_default();
        let found = rest.utf8_chunks().next().and_then(|chunk| chunk.valid().chars().next()).unwrap_or(' ');
        let mend = match (next, found) {
            (_, '/' | '#') => "take comments out: JSON has none",
            (Next::Value | Next::Key, ']' | '}') => "take the comma before it out",
            (_, '\'') => "put texts in `\"`",
            _ => "correct the text, or write the file with a program",
        };
        self.trouble(at, &format!("expected {} here, found `{found}`", next.words(in_object)), mend)
    }

    fn ends_early(&self, next: Next, in_object: bool) -> Trouble {
        let end = self.bytes.len();
        let message = format!("the file ends where {} should stand", next.words(in_object));
        let mut trouble = self.trouble(end, &message, "write the file again as a whole");
        // What is left open shows the place better than the end does.
        if let Some(node) = self.open.last().and_then(|&index| self.nodes.get(index as usize)) {
            trouble.span = Span::new(node.span.start, node.span.start + 1);
        }
        trouble
    }
}

/// A number as RFC 8259 has it.
fn number(input: &[u8]) -> IResult<&[u8], &[u8]> {
    let whole = alt((tag("0"), recognize((one_of("123456789"), take_while(|byte: u8| byte.is_ascii_digit())))));
    let exponent = (one_of("eE"), opt(one_of("+-")), digit1);
    recognize((opt(tag("-")), whole, opt((tag("."), digit1)), opt(exponent))).parse(input)
}

/// The length of the escape at the start of `input`, and its character; none where it is no escape, or half of a pair.
pub(super) fn escape(input: &[u8]) -> (usize, Option<char>) {
    let unit = |at: usize| {
        let digits = input.get(at..at + 4).filter(|digits| digits.iter().all(u8::is_ascii_hexdigit))?;
        u32::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()
    };
    let simple = |character| (2, Some(character));
    match input.get(1) {
        Some(b'"') => simple('"'),
        Some(b'\\') => simple('\\'),
        Some(b'/') => simple('/'),
        Some(b'b') => simple('\u{8}'),
        Some(b'f') => simple('\u{c}'),
        Some(b'n') => simple('\n'),
        Some(b'r') => simple('\r'),
        Some(b't') => simple('\t'),
        Some(b'u') => match unit(2) {
            Some(high @ 0xd800..=0xdbff) if input.get(6..8) == Some(b"\\u") => match unit(8) {
                Some(low @ 0xdc00..=0xdfff) => (12, char::from_u32(0x10000 + ((high - 0xd800) << 10) + (low - 0xdc00))),
                _ => (6, None),
            },
            Some(code) => (6, char::from_u32(code)),
            None => (2, None),
        },
        // A character may be longer than a byte; only its backslash is shown then.
        Some(byte) if byte.is_ascii_graphic() => (2, None),
        _ => (1, None),
    }
}
