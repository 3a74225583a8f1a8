//! Bytes to tokens: words, numbers with their units, strings, signs and comments as parsers over byte slices.
//!
//! Each parser takes what it knows from the front of its input and gives back the rest, so that a place is the length of
//! the whole text without that of a rest. What is written wrongly is taken too, by a parser that is asked after the right
//! one: nothing stops this stage, and no byte is lost.

use super::{Comment, Kind, MAX_DIGITS, MAX_PROBLEMS, MAX_WORD, Problem, Tables, Token, Trouble, Unit};
use crate::source::Span;
use nom::branch::alt;
use nom::bytes::complete::{is_not, tag, take, take_while, take_while_m_n, take_while1};
use nom::character::complete::{digit1, hex_digit1, none_of, one_of};
use nom::combinator::{consumed, map_opt, not, opt, recognize, value, verify};
use nom::multi::many0_count;
use nom::number::complete::u8 as byte;
use nom::sequence::{delimited, preceded, terminated};
use nom::{IResult, Parser};

/// The rest of the input, and what was taken from its front. Why a parser takes nothing is not told: another one does.
type Parsed<'t, T> = IResult<&'t [u8], T, ()>;

/// What stands at the front of the input.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Found {
    /// A token.
    Token(Kind),
    /// Bytes that are no token.
    Wrong(Trouble),
    /// A comment.
    Comment,
}

impl Found {
    /// Whether it is a number, even if a wrong one, so that a unit may follow.
    fn is_number(self) -> bool {
        use Found::{Token, Wrong};
        matches!(self, Token(Kind::Number | Kind::Range) | Wrong(Trouble::DecimalComma | Trouble::Number))
    }
}

/// The byte-order mark that a text may begin with.
pub(super) const MARK: &[u8] = b"\xef\xbb\xbf";

/// Fills the tokens and comments of `tables` from the bytes at `from` on. `bytes` is at most `MAX_BYTES` long.
///
/// `text = [mark] {blanks (comment | number [blanks unit] | token)} blanks`
pub(super) fn tokens(bytes: &[u8], from: usize, tables: &mut Tables) {
    let mut lexer = Lexer { length: bytes.len(), tables, line_is_broken: false };
    let mut rest = bytes.get(from..).unwrap_or_default();
    while let Ok((after, (text, found))) = preceded(blanks, consumed(found(lexer.is_free(rest)))).parse(rest) {
        lexer.push(found, text, after);
        rest = after;
        if found.is_number()
            && let Ok((after, (text, unit))) = preceded(blanks, consumed(unit)).parse(rest)
        {
            lexer.push(Found::Token(Kind::Unit(unit)), text, after);
            rest = after;
        }
    }
}

struct Lexer<'a> {
    /// The length of the whole text.
    length: usize,
    tables: &'a mut Tables,
    /// One broken line is one problem.
    line_is_broken: bool,
}

impl Lexer<'_> {
    /// Whether a sign here can belong to a number behind it: a blank or another sign stands before it.
    fn is_free(&self, rest: &[u8]) -> bool {
        use Kind::{BlockOpen, Colon, Comma, EndOfLine, Equals, Minus, Open, Plus, Semicolon, Star};
        let is_sign = |kind| {
            matches!(kind, BlockOpen | Colon | Comma | EndOfLine | Equals | Minus | Open | Plus | Semicolon | Star)
        };
        rest.first().is_some_and(|&byte| is_blank(byte))
            || self.tables.tokens.last().is_none_or(|token| is_sign(token.kind))
    }

    /// Notes what was found: `text`, behind which `rest` is left.
    fn push(&mut self, found: Found, text: &[u8], rest: &[u8]) {
        let end = self.length - rest.len();
        let span = Span::new((end - text.len()) as u32, end as u32);
        let found = match found {
            Found::Token(Kind::Word | Kind::Text) if is_long(text) => Found::Wrong(Trouble::LongWord),
            found => found,
        };
        let kind = match found {
            Found::Token(kind) => kind,
            Found::Wrong(trouble) => {
                if !std::mem::replace(&mut self.line_is_broken, true) {
                    problem(&mut self.tables.problems, trouble, span, None);
                }
                Kind::Bad
            }
            Found::Comment => {
                let own_line = self.tables.tokens.last().is_none_or(|token| token.kind == Kind::EndOfLine);
                // Which statement follows is known once there are statements.
                self.tables.comments.push(Comment { span, before: 0, own_line });
                return;
            }
        };
        self.line_is_broken &= kind != Kind::EndOfLine;
        self.tables.tokens.push(Token { kind, start: span.start, end: span.end });
    }
}

/// By its first byte it is known what something can be. In `roll+5 %` the `+` is no sign of the number; elsewhere one that
/// touches its digits is.
fn found<'t>(is_free: bool) -> impl Fn(&'t [u8]) -> Parsed<'t, Found> {
    move |input| match input.first() {
        Some(&byte) if is_letter(byte) => value(Found::Token(Kind::Word), word).parse(input),
        Some(byte) if byte.is_ascii_digit() => number_or_range(input),
        Some(b'-') => alt((number_or_range, sign.map(Found::Token))).parse(input),
        Some(b'+') if is_free => alt((number_or_range, sign.map(Found::Token))).parse(input),
        Some(b'"') => string(input),
        Some(b'#') => value(Found::Comment, comment).parse(input),
        _ => alt((sign.map(Found::Token), value(Found::Wrong(Trouble::Character), odd))).parse(input),
    }
}

/// `blanks = {" " | TAB | CR}`
fn blanks(input: &[u8]) -> Parsed<'_, &[u8]> {
    take_while(is_blank).parse(input)
}

fn is_blank(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | b'\r')
}

/// `comment = "#" {any byte but LF}`
fn comment(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((tag("#"), rest_of_line)).parse(input)
}

/// The rest of a line, without the CR before its LF.
fn rest_of_line(input: &[u8]) -> Parsed<'_, &[u8]> {
    let end = memchr::memchr(b'\n', input).unwrap_or(input.len());
    let line = input.get(..end).unwrap_or_default();
    let returns = line.iter().rev().take_while(|&&byte| byte == b'\r').count();
    take(line.len() - returns).parse(input)
}

/// `word = letter {letter | digit | "-" | "_"}`
fn word(input: &[u8]) -> Parsed<'_, &[u8]> {
    verify(take_while1(is_of_word), |word: &[u8]| word.first().copied().is_some_and(is_letter)).parse(input)
}

/// Whether a word or a text has more characters than one may have.
fn is_long(word: &[u8]) -> bool {
    // A character has a byte at least, and continuation bytes begin none.
    word.len() > MAX_WORD && word.iter().filter(|&&byte| byte & 0xc0 != 0x80).count() > MAX_WORD
}

/// Letters of other alphabets too: every byte of a character that is not ASCII.
fn is_letter(byte: u8) -> bool {
    byte.is_ascii_alphabetic() || !byte.is_ascii()
}

fn is_of_word(byte: u8) -> bool {
    is_letter(byte) || byte.is_ascii_digit() || matches!(byte, b'-' | b'_')
}

/// `unit = "%" | "us" | "ms" | …`
///
/// `2 min(` is the function behind a number that misses its unit, not minutes.
fn unit(input: &[u8]) -> Parsed<'_, Unit> {
    alt((value(Unit::Percent, tag("%")), terminated(map_opt(word, Unit::find), not(tag("("))))).parse(input)
}

/// A number or range as it should be, or one that is written wrongly.
fn number_or_range(input: &[u8]) -> Parsed<'_, Found> {
    alt((
        value(Found::Token(Kind::Day), terminated(day, not(take_while1(is_of_word)))),
        value(Found::Token(Kind::Number), terminated(number, not(alt((recognize(one_of("._")), comma_and_digits))))),
        value(Found::Token(Kind::Range), terminated(range, not(one_of("._")))),
        value(Found::Wrong(Trouble::DecimalComma), decimal_comma),
        value(Found::Wrong(Trouble::Number), wrong_number),
    ))
    .parse(input)
}

/// `number = ["-" | "+"] digits ["." digits]`, of no more digits than can be kept exactly.
fn number(input: &[u8]) -> Parsed<'_, &[u8]> {
    let digits = |number: &[u8]| number.iter().filter(|byte| byte.is_ascii_digit()).count();
    verify(decimal, |number: &[u8]| number.len() <= MAX_DIGITS || digits(number) <= MAX_DIGITS).parse(input)
}

fn decimal(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((opt(one_of("-+")), digit1, opt((tag("."), digit1)))).parse(input)
}

/// `day = 4 digits "-" 2 digits "-" 2 digits`, whether the calendar has it or not.
fn day(input: &[u8]) -> Parsed<'_, &[u8]> {
    let digits = |count| take_while_m_n(count, count, |byte: u8| byte.is_ascii_digit());
    recognize((digits(4), tag("-"), digits(2), tag("-"), digits(2))).parse(input)
}

/// `range = number ".." number`
fn range(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((number, tag(".."), number)).parse(input)
}

/// `3,5`, or a list without spaces: one message for the whole run of digits and commas.
fn decimal_comma(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((decimal, comma_and_digits, take_while(|byte: u8| byte.is_ascii_digit() || matches!(byte, b',' | b'.'))))
        .parse(input)
}

fn comma_and_digits(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((tag(","), digit1)).parse(input)
}

/// `5.`, `1_000`, `1...2`, and numbers of too many digits.
fn wrong_number(input: &[u8]) -> Parsed<'_, &[u8]> {
    recognize((decimal, take_while(|byte| is_of_word(byte) || byte == b'.'))).parse(input)
}

/// `string = '"' {character | escape} '"'`, or what was meant to be one.
fn string(input: &[u8]) -> Parsed<'_, Found> {
    let characters = || is_not("\"\\\n");
    let wrong_escape = recognize((tag("\\"), opt(none_of("\n"))));
    alt((
        value(Found::Token(Kind::Text), quoted(alt((characters(), escape)))),
        value(Found::Wrong(Trouble::Escape), quoted(alt((characters(), escape, wrong_escape)))),
        value(Found::Wrong(Trouble::OpenString), (tag("\""), rest_of_line)),
    ))
    .parse(input)
}

fn quoted<'t>(
    part: impl Parser<&'t [u8], Output = &'t [u8], Error = ()>,
) -> impl Parser<&'t [u8], Output = usize, Error = ()> {
    delimited(tag("\""), many0_count(part), tag("\""))
}

/// `escape = "\" ('"' | "\" | "n" | "t" | "u{" hexadecimal digits "}")`
fn escape(input: &[u8]) -> Parsed<'_, &[u8]> {
    let code = verify(delimited(tag("u{"), hex_digit1, tag("}")), |digits: &[u8]| is_character(digits));
    recognize((tag("\\"), alt((recognize(one_of("\"\\nt")), code)))).parse(input)
}

fn is_character(digits: &[u8]) -> bool {
    let code = std::str::from_utf8(digits).ok().and_then(|digits| u32::from_str_radix(digits, 16).ok());
    code.and_then(char::from_u32).is_some()
}

/// `sign = "," | ":" | "=" | "+" | "-" | "*" | "(" | ")" | "{" | "}" | ";" | EOL`
fn sign(input: &[u8]) -> Parsed<'_, Kind> {
    map_opt(byte, |byte| {
        Some(match byte {
            b',' => Kind::Comma,
            b':' => Kind::Colon,
            b'=' => Kind::Equals,
            b'+' => Kind::Plus,
            b'-' => Kind::Minus,
            b'*' => Kind::Star,
            b'(' => Kind::Open,
            b')' => Kind::Close,
            b'{' => Kind::BlockOpen,
            b'}' => Kind::BlockClose,
            b';' => Kind::Semicolon,
            b'\n' => Kind::EndOfLine,
            _ => return None,
        })
    })
    .parse(input)
}

/// Characters that begin nothing.
fn odd(input: &[u8]) -> Parsed<'_, &[u8]> {
    let begins =
        |byte: u8| is_letter(byte) || byte.is_ascii_digit() || is_blank(byte) || b"\n#\"{}();,:=+*-".contains(&byte);
    take_while1(|byte| !begins(byte)).parse(input)
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

    /// What a parser takes from the front of a text.
    fn taken<'t>(parser: fn(&'t [u8]) -> Parsed<'t, &'t [u8]>, text: &'t str) -> Option<&'t str> {
        parser(text.as_bytes()).ok().map(|(_, taken)| std::str::from_utf8(taken).unwrap())
    }

    #[test]
    fn words_begin_with_a_letter() {
        for (text, wanted) in [
            ("left-rear up", Some("left-rear")),
            ("a_1-{", Some("a_1-")),
            ("é9.", Some("é9")),
            ("9a", None),
            ("-a", None),
            ("_a", None),
            ("", None),
        ] {
            assert_eq!(taken(word, text), wanted, "{text}");
        }
    }

    #[test]
    fn comments_end_before_the_end_of_their_line() {
        for (text, wanted) in [
            ("# a # b\nc", Some("# a # b")),
            ("#\r\n", Some("#")),
            ("# a\rb\r\r\n", Some("# a\rb")),
            ("#", Some("#")),
            ("a #", None),
        ] {
            assert_eq!(taken(comment, text), wanted, "{text:?}");
        }
    }

    #[test]
    fn numbers_touch_their_sign_and_their_point() {
        for (text, wanted) in [
            ("5 us", Some("5")),
            ("-0.50%", Some("-0.50")),
            ("007", Some("007")),
            ("1.", Some("1")),
            ("1.2.3", Some("1.2")),
            ("123456789012345", Some("123456789012345")),
            ("-12345.6789012345", Some("-12345.6789012345")),
            ("1234567890123456", None),
            ("- 5", None),
            ("+5", Some("+5")),
            ("+ 5", None),
            ("+-5", None),
            (".5", None),
        ] {
            assert_eq!(taken(number, text), wanted, "{text}");
        }
    }

    #[test]
    fn numbers_and_ranges_are_told_from_wrong_ones() {
        use Found::{Token, Wrong};
        let (number, range) = (Token(Kind::Number), Token(Kind::Range));
        let (comma, wrong) = (Wrong(Trouble::DecimalComma), Wrong(Trouble::Number));
        for (text, found, taken) in [
            ("5, 6", number, "5"),
            ("5,x", number, "5"),
            ("5us", number, "5"),
            ("5-6", number, "5"),
            ("2027-03-01;", Token(Kind::Day), "2027-03-01"),
            ("2027-3-1", number, "2027"),
            ("2027-03-011", number, "2027"),
            ("12027-03-01", number, "12027"),
            ("-1..2 %", range, "-1..2"),
            ("1.5..-2.5", range, "1.5..-2.5"),
            ("1..4,7", range, "1..4"),
            ("3,5 %", comma, "3,5"),
            ("1,2..3,", comma, "1,2..3,"),
            ("5.", wrong, "5."),
            ("5. 6", wrong, "5."),
            ("5..x", wrong, "5..x"),
            ("1...2", wrong, "1...2"),
            ("1..2..3", wrong, "1..2..3"),
            ("1_000 us", wrong, "1_000"),
            ("1234567890123456", wrong, "1234567890123456"),
            ("1..1234567890123456", wrong, "1..1234567890123456"),
        ] {
            let (rest, is) = number_or_range(text.as_bytes()).unwrap();
            assert_eq!((is, &text[..text.len() - rest.len()]), (found, taken), "{text}");
        }
        assert!(number_or_range(b"x").is_err() && number_or_range(b"-").is_err());
    }

    #[test]
    fn a_plus_that_touches_its_digits_is_theirs_where_nothing_touches_it() {
        use Kind::{Close, Comma, Equals, Number, Open, Plus, Range, Star, Unit, Word};
        let percent = Unit(super::Unit::Percent);
        for (text, wanted) in [
            ("= +5 %", vec![Equals, Number, percent]),
            ("=+5 %", vec![Equals, Number, percent]),
            ("roll +5 %", vec![Word, Number, percent]),
            ("roll+5 %", vec![Word, Plus, Number, percent]),
            ("roll + 5 %", vec![Word, Plus, Number, percent]),
            ("5 %+5 %", vec![Number, percent, Plus, Number, percent]),
            ("(+5)+5", vec![Open, Number, Close, Plus, Number]),
            ("roll *+5,+6", vec![Word, Star, Number, Comma, Number]),
            ("+5..+6", vec![Range]),
            ("-5..+6 %", vec![Range, percent]),
            ("+roll", vec![Plus, Word]),
        ] {
            let mut tables = Tables::default();
            tokens(text.as_bytes(), 0, &mut tables);
            let kinds: Vec<Kind> = tables.tokens.iter().map(|token| token.kind).collect();
            assert_eq!((kinds, tables.problems.len()), (wanted, 0), "{text}");
        }
    }

    #[test]
    fn units_are_whole_words() {
        for (text, wanted) in [
            ("%x", Some(Unit::Percent)),
            ("us", Some(Unit::Microsecond)),
            ("mAh }", Some(Unit::MilliampereHour)),
            ("min", Some(Unit::Minute)),
            ("min(", None),
            ("use", None),
            ("m-1", None),
            ("", None),
        ] {
            assert_eq!(unit(text.as_bytes()).ok().map(|(_, unit)| unit), wanted, "{text}");
        }
    }

    #[test]
    fn strings_end_on_their_line() {
        use Found::{Token, Wrong};
        let (sound, escape, open) = (Token(Kind::Text), Wrong(Trouble::Escape), Wrong(Trouble::OpenString));
        for (text, found, taken) in [
            (r#""a b" c"#, sound, r#""a b""#),
            (r#""""#, sound, r#""""#),
            (r#""\"\\\n\t\u{e9}\u{1F426}"x"#, sound, r#""\"\\\n\t\u{e9}\u{1F426}""#),
            (r#""\q" "#, escape, r#""\q""#),
            (r#""\é""#, escape, r#""\é""#),
            (r#""\u{}""#, escape, r#""\u{}""#),
            (r#""\u{41""#, escape, r#""\u{41""#),
            (r#""\u{d800}""#, escape, r#""\u{d800}""#),
            (r#""\u{ffffffffff}""#, escape, r#""\u{ffffffffff}""#),
            ("\"a # b\r\n\"", open, "\"a # b"),
            ("\"a\\\n", open, "\"a\\"),
            ("\"\\\"", open, "\"\\\""),
            ("\"", open, "\""),
        ] {
            let (rest, is) = string(text.as_bytes()).unwrap();
            assert_eq!((is, &text[..text.len() - rest.len()]), (found, taken), "{text:?}");
        }
    }

    #[test]
    fn every_byte_begins_something() {
        for byte in 0..=255 {
            let text = [byte];
            let (rest, _) = preceded(blanks, opt(found(true))).parse(&text).unwrap();
            assert_eq!(rest, b"", "{byte}");
            assert_eq!(found(true)(&text).is_err(), is_blank(byte), "{byte}");
        }
        assert_eq!(taken(odd, "@?.\0\x0c%5"), Some("@?.\0\x0c%"));
        assert_eq!(sign(b"-5").map(|(_, kind)| kind), Ok(Kind::Minus));
    }

    #[test]
    fn a_broken_line_is_one_problem() {
        let mut tables = Tables::default();
        tokens(b"a @ 3,5 us \"x\nb ?\n", 0, &mut tables);
        let found: Vec<(Trouble, u32)> =
            tables.problems.iter().map(|problem| (problem.trouble, problem.span.start)).collect();
        assert_eq!(found, [(Trouble::Character, 2), (Trouble::Character, 16)]);
        let kinds: Vec<Kind> = tables.tokens.iter().map(|token| token.kind).collect();
        let us = Kind::Unit(Unit::Microsecond);
        assert_eq!(kinds[..6], [Kind::Word, Kind::Bad, Kind::Bad, us, Kind::Bad, Kind::EndOfLine]);
    }
}
