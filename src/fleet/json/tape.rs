//! JSON text (RFC 8259) to a flat tape of its values with their places. What is read stays in the text; strings are
//! decoded where they are asked for.

use crate::fleet::problem::{Problem, ProblemKind};
use crate::source::{FileId, Place, Span};
use crate::syntax::{MAX_BYTES, MAX_NESTING};
use nom::branch::alt;
use nom::bytes::complete::{tag, take, take_while, take_while_m_n, take_while1};
use nom::character::complete::{digit1, one_of};
use nom::combinator::{map_opt, not, opt, recognize};
use nom::multi::many0_count;
use nom::sequence::{preceded, terminated};
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
        match reader.text() {
            Ok(()) => Ok(Self { nodes: reader.nodes }),
            Err(Trouble { kind, span, message, mend }) => Err(Problem::new(kind, at(span), message, mend)),
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

/// What is wrong, and where. It ends the reading.
struct Trouble {
    kind: ProblemKind,
    span: Span,
    message: String,
    mend: &'static str,
}

/// What is left behind a value, or what is wrong in it.
type Read<'t> = Result<&'t [u8], Trouble>;

const VALUE: &str = "a value";
const KEY: &str = "a key in quotes";

/// An object or an array.
struct Form<'t> {
    kind: Kind,
    close: u8,
    part: fn(&mut Reader<'t>, &'t [u8], &'static str) -> Read<'t>,
    /// What may stand first in it, and what behind a part.
    first: &'static str,
    behind: &'static str,
    /// What has to stand behind a comma.
    next: &'static str,
}

struct Reader<'t> {
    bytes: &'t [u8],
    nodes: Vec<Node>,
    /// The objects and arrays that are open.
    open: Vec<u32>,
}

impl<'t> Reader<'t> {
    /// `text = [mark] blanks value blanks`
    fn text(&mut self) -> Result<(), Trouble> {
        let input = self.bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(self.bytes);
        let rest = skip_blanks(self.value(skip_blanks(input), VALUE)?);
        if rest.is_empty() {
            return Ok(());
        }
        Err(self.trouble(rest, "something follows the object that is the whole file", "take it out"))
    }

    /// `value = object | array | string | number | "true" | "false" | "null"`
    fn value(&mut self, input: &'t [u8], expected: &'static str) -> Read<'t> {
        match input.first() {
            Some(b'{') => self.object(input),
            Some(b'[') => self.array(input),
            Some(b'"') => self.string(input),
            Some(b'-' | b'0'..=b'9' | b'a'..=b'z' | b'A'..=b'Z') => self.number_or_word(input),
            _ => Err(self.unexpected(input, expected)),
        }
    }

    /// `object = "{" [member {"," member}] "}"`
    fn object(&mut self, input: &'t [u8]) -> Read<'t> {
        let (first, next, behind) = ("a key in quotes or `}`", KEY, "`,` or `}`");
        self.list(input, &Form { kind: Kind::Object, close: b'}', part: Self::member, first, next, behind })
    }

    /// `array = "[" [value {"," value}] "]"`
    fn array(&mut self, input: &'t [u8]) -> Read<'t> {
        let (first, next, behind) = ("a value or `]`", VALUE, "`,` or `]`");
        self.list(input, &Form { kind: Kind::Array, close: b']', part: Self::value, first, next, behind })
    }

    /// `member = string ":" value`
    fn member(&mut self, input: &'t [u8], expected: &'static str) -> Read<'t> {
        if input.first() != Some(&b'"') {
            return Err(self.unexpected(input, expected));
        }
        let rest = skip_blanks(self.string(input)?);
        match rest.strip_prefix(b":") {
            Some(rest) => self.value(skip_blanks(rest), VALUE),
            None => Err(self.unexpected(rest, "`:` and the key's value")),
        }
    }

    /// `list = open [part {"," part}] close`
    fn list(&mut self, input: &'t [u8], form: &Form<'t>) -> Read<'t> {
        if self.open.len() >= MAX_DEPTH {
            let message = format!("values stand more than {MAX_DEPTH} deep in each other");
            let mend = "nothing that this program reads needs this";
            return Err(Trouble { kind: ProblemKind::TooLarge, ..self.trouble(input, &message, mend) });
        }
        let index = self.nodes.len();
        self.open.push(index as u32);
        let mut rest = input.get(1..).unwrap_or_default();
        self.push(form.kind, input, rest);
        rest = skip_blanks(rest);
        let mut expected = form.first;
        if rest.first() != Some(&form.close) {
            loop {
                rest = skip_blanks((form.part)(self, rest, expected)?);
                let Some(after) = rest.strip_prefix(b",") else { break };
                rest = skip_blanks(after);
                expected = form.next;
            }
        }
        let Some(rest) = rest.strip_prefix(&[form.close]) else { return Err(self.unexpected(rest, form.behind)) };
        self.open.pop();
        let (end, after) = (self.offset(rest), self.nodes.len() as u32);
        if let Some(node) = self.nodes.get_mut(index) {
            (node.span.end, node.after) = (end, after);
        }
        Ok(rest)
    }

    /// `string = '"' {character | escape} '"'`
    fn string(&mut self, input: &'t [u8]) -> Read<'t> {
        let characters = take_while1(|byte: u8| byte >= b' ' && byte != b'"' && byte != b'\\');
        let part = alt((characters, recognize(escape)));
        let inner: Lexed<'t, _> = preceded(tag("\""), many0_count(part)).parse(input);
        let (rest, _) = inner.unwrap_or((input, 0));
        match rest.first() {
            Some(b'"') => {
                let rest = rest.get(1..).unwrap_or_default();
                self.push(Kind::Text, input, rest);
                Ok(rest)
            }
            Some(b'\\') => {
                let span = self.span(rest, wrong_escape(rest).map_or(rest, |(after, _)| after));
                let message = "this escape is none that JSON has";
                Err(Trouble { span, ..self.trouble(rest, message, "write a backslash as `\\\\`") })
            }
            Some(b'\n' | b'\r') | None => {
                let span = self.span(input, rest);
                let message = "this text has no closing quote on its line";
                Err(Trouble { span, ..self.trouble(input, message, "close it with `\"`") })
            }
            Some(_) => {
                let message = "a control character stands in this text";
                Err(self.trouble(rest, message, "write it as an escape such as `\\t`"))
            }
        }
    }

    fn number_or_word(&mut self, input: &'t [u8]) -> Read<'t> {
        if let Ok((rest, _)) = terminated(number, not(goes_on)).parse(input) {
            self.push(Kind::Number, input, rest);
            return Ok(rest);
        }
        let (rest, word) = word(input).unwrap_or((input, input));
        let kind = match word {
            b"true" => Kind::True,
            b"false" => Kind::False,
            b"null" => Kind::Null,
            _ => {
                let span = self.span(input, rest);
                let text = String::from_utf8_lossy(word);
                let (message, mend) = match word.first() {
                    Some(b'-' | b'0'..=b'9') => {
                        (format!("`{text}` is no number in JSON"), "write it like 3.5, or in quotes")
                    }
                    _ => (format!("`{text}` is no value in JSON"), "put texts in quotes"),
                };
                return Err(Trouble { span, ..self.trouble(input, &message, mend) });
            }
        };
        self.push(kind, input, rest);
        Ok(rest)
    }

    /// Where a rest of the text begins.
    fn offset(&self, rest: &[u8]) -> u32 {
        (self.bytes.len() - rest.len()) as u32
    }

    /// What stands between the beginnings of two rests of the text.
    fn span(&self, from: &[u8], to: &[u8]) -> Span {
        Span::new(self.offset(from), self.offset(to))
    }

    fn push(&mut self, kind: Kind, from: &[u8], to: &[u8]) {
        let after = self.nodes.len() as u32 + 1;
        self.nodes.push(Node { kind, span: self.span(from, to), after });
    }

    /// A trouble at the first character of `rest`.
    fn trouble(&self, rest: &[u8], message: &str, mend: &'static str) -> Trouble {
        let start = self.offset(rest);
        let length = first_character(rest).map_or(0, char::len_utf8) as u32;
        Trouble { kind: ProblemKind::Syntax, span: Span::new(start, start + length), message: message.to_owned(), mend }
    }

    fn unexpected(&self, rest: &[u8], expected: &'static str) -> Trouble {
        let Some(found) = first_character(rest) else {
            let message = format!("the file ends where {expected} should stand");
            let mut trouble = self.trouble(rest, &message, "write the file again as a whole");
            // What is left open shows the place better than the end does.
            if let Some(node) = self.open.last().and_then(|&index| self.nodes.get(index as usize)) {
                trouble.span = Span::new(node.span.start, node.span.start + 1);
            }
            return trouble;
        };
        let mend = match found {
            '/' | '#' => "take comments out: JSON has none",
            ']' | '}' if [VALUE, KEY].contains(&expected) => "take the comma before it out",
            '\'' => "put texts in `\"`",
            _ => "correct the text, or write the file with a program",
        };
        self.trouble(rest, &format!("expected {expected} here, found `{found}`"), mend)
    }
}

fn first_character(rest: &[u8]) -> Option<char> {
    rest.utf8_chunks().next().and_then(|chunk| chunk.valid().chars().next())
}

/// What the parsers of words and numbers give; why they take nothing is told by the reader.
type Lexed<'t, T> = IResult<&'t [u8], T, ()>;

/// `blanks = {" " | TAB | CR | LF}`
fn skip_blanks(input: &[u8]) -> &[u8] {
    let blanks: Lexed<'_, _> = take_while(|byte| matches!(byte, b' ' | b'\t' | b'\r' | b'\n')).parse(input);
    blanks.map_or(input, |(rest, _)| rest)
}

/// `number = ["-"] ("0" | digit1-9 digits) ["." digits] [("e" | "E") ["+" | "-"] digits]`
fn number(input: &[u8]) -> Lexed<'_, &[u8]> {
    let whole = alt((tag("0"), recognize((one_of("123456789"), take_while(|byte: u8| byte.is_ascii_digit())))));
    let exponent = (one_of("eE"), opt(one_of("+-")), digit1);
    recognize((opt(tag("-")), whole, opt((tag("."), digit1)), opt(exponent))).parse(input)
}

/// What can't stand right behind a number.
fn goes_on(input: &[u8]) -> Lexed<'_, &[u8]> {
    take_while_m_n(1, 1, |byte: u8| byte.is_ascii_alphanumeric() || byte == b'.').parse(input)
}

/// A run of characters that is meant to be one value.
fn word(input: &[u8]) -> Lexed<'_, &[u8]> {
    take_while1(|byte: u8| byte.is_ascii_alphanumeric() || matches!(byte, b'-' | b'+' | b'.' | b'_')).parse(input)
}

/// `escape = "\" ('"' | "\" | "/" | "b" | "f" | "n" | "r" | "t" | unit | unit "\" unit)`, the last for a character that
/// UTF-16 has two units for.
pub(super) fn escape(input: &[u8]) -> IResult<&[u8], char, ()> {
    let simple = map_opt(take(1usize), |letter: &[u8]| {
        Some(match letter {
            b"\"" => '"',
            b"\\" => '\\',
            b"/" => '/',
            b"b" => '\u{8}',
            b"f" => '\u{c}',
            b"n" => '\n',
            b"r" => '\r',
            b"t" => '\t',
            _ => return None,
        })
    });
    let one = map_opt(unit, |unit| char::from_u32(unit.into()));
    let two = map_opt((unit, preceded(tag("\\"), unit)), |(high, low)| char::decode_utf16([high, low]).next()?.ok());
    preceded(tag("\\"), alt((simple, one, two))).parse(input)
}

/// `unit = "u" hexadecimal digit, four times`
fn unit(input: &[u8]) -> Lexed<'_, u16> {
    let digits = take_while_m_n(4, 4, |byte: u8| byte.is_ascii_hexdigit());
    let read = |digits| u16::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok();
    preceded(tag("u"), map_opt(digits, read)).parse(input)
}

/// As much of an escape that is none as is shown.
fn wrong_escape(input: &[u8]) -> Lexed<'_, &[u8]> {
    let letter = take_while_m_n(1, 1, |byte: u8| byte.is_ascii_graphic());
    recognize((tag("\\"), opt(alt((recognize(unit), letter))))).parse(input)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Vec<String>, (String, &'static str, String)> {
        let show = |node: &Node| format!("{:?} {}", node.kind, String::from_utf8_lossy(node.span.of(text.as_bytes())));
        let mut reader = Reader { bytes: text.as_bytes(), nodes: Vec::new(), open: Vec::new() };
        match reader.text() {
            Ok(()) => Ok(reader.nodes.iter().map(show).collect()),
            Err(trouble) => Err((
                String::from_utf8_lossy(trouble.span.of(text.as_bytes())).into_owned(),
                trouble.mend,
                trouble.message,
            )),
        }
    }

    #[test]
    fn values_keep_their_text_and_their_order() {
        let text = "\u{feff} {\"a\": [1.50, -0e+5, {}], \"a\": \"\\u0041\\\\\", \"\": [true, false,\nnull]}\t";
        let found = read(text).unwrap();
        assert_eq!(found[0], format!("Object {}", text.trim_matches(['\u{feff}', ' ', '\t'])));
        let rest = [
            "Text \"a\"",
            "Array [1.50, -0e+5, {}]",
            "Number 1.50",
            "Number -0e+5",
            "Object {}",
            "Text \"a\"",
            "Text \"\\u0041\\\\\"",
            "Text \"\"",
            "Array [true, false,\nnull]",
            "True true",
            "False false",
            "Null null",
        ];
        assert_eq!(found[1..], rest);
    }

    #[test]
    fn what_is_wrong_is_told_where_it_stands() {
        for (text, place, message) in [
            ("[1,]", "]", "expected a value here, found `]`"),
            ("{\"a\":1,}", "}", "expected a key in quotes here, found `}`"),
            ("[1 2]", "2", "expected `,` or `]` here, found `2`"),
            ("{\"a\" 1}", "1", "expected `:` and the key's value here, found `1`"),
            ("{1}", "1", "expected a key in quotes or `}` here, found `1`"),
            ("[é", "é", "expected a value or `]` here, found `é`"),
            ("[{\"a\": ", "{", "the file ends where a value should stand"),
            ("[1", "[", "the file ends where `,` or `]` should stand"),
            ("", "", "the file ends where a value should stand"),
            ("01", "01", "`01` is no number in JSON"),
            ("1.", "1.", "`1.` is no number in JSON"),
            ("-", "-", "`-` is no number in JSON"),
            ("nil", "nil", "`nil` is no value in JSON"),
            ("\"a\\x\"", "\\x", "this escape is none that JSON has"),
            ("\"a\\é\"", "\\", "this escape is none that JSON has"),
            ("\"\\u12\"", "\\u", "this escape is none that JSON has"),
            ("\"\\udc00\"", "\\udc00", "this escape is none that JSON has"),
            ("\"\\ud83d\\u0041\"", "\\ud83d", "this escape is none that JSON has"),
            ("\"a\n\"", "\"a", "this text has no closing quote on its line"),
            ("\"a\u{1}\"", "\u{1}", "a control character stands in this text"),
            ("1 2", "2", "something follows the object that is the whole file"),
        ] {
            let (found, _, told) = read(text).unwrap_err();
            assert_eq!((found.as_str(), told.as_str()), (place, message), "{text}");
        }
    }

    #[test]
    fn escapes() {
        for (text, character) in [
            ("\\n", Some('\n')),
            ("\\/", Some('/')),
            ("\\u00e9", Some('é')),
            ("\\ud83d\\udc26", Some('\u{1f426}')),
            ("\\ud83d", None),
            ("\\u+123", None),
            ("\\", None),
            ("n", None),
        ] {
            assert_eq!(escape(text.as_bytes()).ok().map(|(_, character)| character), character, "{text}");
        }
    }
}
