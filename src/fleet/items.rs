//! The items of one statement: what a cursor over them knows, and the parsers of single items and of lists.
//!
//! A parser takes what it knows from the front of the items and gives back the rest. Where it gives an error, another
//! alternative may fit; where it fails (`cut`), the items can be meant for nothing else.

use super::condition::Name;
use super::day::Day;
use super::miss::{Allowed, Expected, Miss, MissKind, Read};
use super::number::{Decimal, Dimension};
use crate::source::{Located, Span};
use crate::syntax::{Kind, Token, Unit};
use compact_str::CompactString;
use nom::branch::alt;
use nom::combinator::opt;
use nom::error::{ErrorKind, ParseError};
use nom::{IResult, Parser};

/// How deep conditions and values may be nested.
pub const MAX_DEPTH: usize = 32;
/// How many parts one condition or value may have, and how many items one list.
pub const MAX_TERMS: usize = 500;

/// The items that are left, and what was taken from their front.
pub(super) type Parsed<'t, T> = IResult<Items<'t>, T, Miss>;

/// A cursor over the items of one statement.
#[derive(Clone, Copy, Debug)]
pub struct Items<'t> {
    /// The text they come from.
    pub bytes: &'t [u8],
    tokens: &'t [Token],
    /// Where the statement's word ends: the place of something that is missing altogether.
    start: u32,
    at: usize,
    depth: usize,
    terms: usize,
}

impl<'t> Items<'t> {
    /// The items `tokens` of a statement whose word ends at `start`.
    pub fn new(bytes: &'t [u8], tokens: &'t [Token], start: u32) -> Self {
        Self { bytes, tokens, start, at: 0, depth: 0, terms: 0 }
    }

    /// The index of the next item.
    pub fn at(&self) -> usize {
        self.at
    }

    /// The next token.
    pub fn peek(&self) -> Option<Token> {
        self.ahead(0)
    }

    /// The token that stands so many items behind the next one.
    pub(super) fn ahead(&self, items: usize) -> Option<Token> {
        self.tokens.get(self.at + items).copied()
    }

    /// The bytes of the next token where it is a word.
    pub fn peek_word(&self) -> Option<&'t [u8]> {
        self.peek().filter(|token| token.kind == Kind::Word).map(|token| token.of(self.bytes))
    }

    /// Whether the next token is a number with a `+` of its own.
    pub fn is_plus_number(&self) -> bool {
        self.peek().is_some_and(|token| token.kind == Kind::Number && token.of(self.bytes).starts_with(b"+"))
    }

    /// Whether the item with this index is a word or a text.
    pub fn is_word_at(&self, index: usize) -> bool {
        self.tokens.get(index).is_some_and(|token| matches!(token.kind, Kind::Word | Kind::Text))
    }

    /// Goes past the next token.
    pub fn skip(&mut self) {
        self.at += 1;
    }

    /// Where the item with this index stands; behind the last one for an index past the end.
    pub fn span_at(&self, index: usize) -> Span {
        match self.tokens.get(index) {
            Some(token) => token.span(),
            None => {
                let end = self.tokens.last().map_or(self.start, |token| token.end);
                Span::new(end, end)
            }
        }
    }

    /// The range of the items from index `from` to the last one read.
    pub fn since(&self, from: usize) -> Span {
        let last = self.span_at(self.at.saturating_sub(1).max(from));
        self.span_at(from).to(last)
    }

    /// A miss at the next item.
    pub fn miss<T>(&self, words: &'static str) -> Read<T> {
        self.expected(Expected::Words(words))
    }

    /// The same for what is no fixed text.
    pub fn expected<T>(&self, expected: Expected) -> Read<T> {
        Err(Miss { at: self.at, kind: MissKind::Expected(expected) })
    }

    /// Takes from the items what a parser knows. Nothing is taken where it gives an error.
    pub(super) fn take<T>(&mut self, mut parser: impl Parser<Self, Output = T, Error = Miss>) -> Read<T> {
        match parser.parse(*self) {
            Ok((rest, found)) => {
                *self = rest;
                Ok(found)
            }
            Err(nom::Err::Error(miss) | nom::Err::Failure(miss)) => Err(miss),
            // Parsers over the whole of their input never ask for more of it.
            Err(nom::Err::Incomplete(_)) => self.expected(OTHER),
        }
    }

    /// Takes a sign.
    pub fn sign(&mut self, kind: Kind) -> bool {
        self.take(sign(kind, "")).is_ok()
    }

    /// Takes a word.
    pub fn word(&mut self, text: &'static str) -> bool {
        self.take(word(text)).is_ok()
    }

    /// Something else was expected here; another alternative may fit.
    pub(super) fn other(&self, expected: Expected) -> nom::Err<Miss> {
        nom::Err::Error(Miss { at: self.at, kind: MissKind::Expected(expected) })
    }

    /// What stands here can be meant for nothing else, and is wrong.
    fn wrong(&self, kind: MissKind) -> nom::Err<Miss> {
        nom::Err::Failure(Miss { at: self.at, kind })
    }
}

/// What is expected where a parser of `nom` itself gives the error; alternatives say it in words of their own.
const OTHER: Expected = Expected::Words("something else");

impl<'t> ParseError<Items<'t>> for Miss {
    fn from_error_kind(items: Items<'t>, _: ErrorKind) -> Self {
        Self { at: items.at, kind: MissKind::Expected(OTHER) }
    }

    fn append(_: Items<'t>, _: ErrorKind, miss: Self) -> Self {
        miss
    }

    /// Of alternatives the one that came furthest is told, and the last one of those that came equally far.
    fn or(self, other: Self) -> Self {
        if self.at > other.at { self } else { other }
    }
}

/// One token of which `read` makes something.
fn token<'t, T>(
    expected: Expected,
    read: impl Fn(Token, &'t [u8]) -> Option<T>,
) -> impl Fn(Items<'t>) -> Parsed<'t, T> {
    move |items| match items.peek().and_then(|token| read(token, token.of(items.bytes))) {
        Some(found) => Ok((Items { at: items.at + 1, ..items }, found)),
        None => Err(items.other(expected)),
    }
}

/// A sign. `what` names it where it is missing.
pub(super) fn sign<'t>(kind: Kind, what: &'static str) -> impl Fn(Items<'t>) -> Parsed<'t, ()> {
    token(Expected::Words(what), move |token, _| (token.kind == kind).then_some(()))
}

/// This word.
pub(super) fn word<'t>(word: &'static str) -> impl Fn(Items<'t>) -> Parsed<'t, ()> {
    token(Expected::Word(word), move |token, bytes| {
        (token.kind == Kind::Word && bytes == word.as_bytes()).then_some(())
    })
}

/// `name = word | string`
pub(super) fn name<'t>(what: &'static str) -> impl Fn(Items<'t>) -> Parsed<'t, Name> {
    move |items| {
        let is_name = |kind| matches!(kind, Kind::Word | Kind::Text);
        token(Expected::Words(what), |token, _| {
            is_name(token.kind).then(|| Located::new(text(items.bytes, token), token.span()))
        })(items)
    }
}

/// `position = word | string | integer`
pub(super) fn position(items: Items<'_>) -> Parsed<'_, Name> {
    let number =
        token(OTHER, |token, bytes| (token.kind == Kind::Number).then(|| Located::new(lossy(bytes), token.span())));
    alt((number, name("a position"))).parse(items)
}

/// `part {between part}`, up to a limit. `what` names the parts where there are too many.
pub(super) fn list<'t, B, T>(
    what: &'static str,
    between: impl Parser<Items<'t>, Output = B, Error = Miss>,
    part: impl Parser<Items<'t>, Output = T, Error = Miss>,
) -> impl FnMut(Items<'t>) -> Parsed<'t, Vec<T>> {
    fold(
        what,
        between,
        part,
        |first| vec![first],
        |mut list, _, next| {
            list.push(next);
            list
        },
    )
}

/// `part {between part}`, each part put to what was made of those before it.
pub(super) fn fold<'t, B, T, A>(
    what: &'static str,
    mut between: impl Parser<Items<'t>, Output = B, Error = Miss>,
    mut part: impl Parser<Items<'t>, Output = T, Error = Miss>,
    begin: impl Fn(T) -> A,
    join: impl Fn(A, B, T) -> A,
) -> impl FnMut(Items<'t>) -> Parsed<'t, A> {
    move |items| {
        let (mut rest, first) = part.parse(items)?;
        let (mut all, mut count) = (begin(first), 1);
        while let Ok((after, between)) = between.parse(rest) {
            if count == MAX_TERMS {
                return Err(after.wrong(MissKind::TooLarge(what, MAX_TERMS)));
            }
            let (after, next) = part.parse(after)?;
            (rest, all, count) = (after, join(all, between, next), count + 1);
        }
        Ok((rest, all))
    }
}

fn comma<'t>() -> impl Fn(Items<'t>) -> Parsed<'t, ()> {
    sign(Kind::Comma, "`,`")
}

/// `names = name {between name}`
pub(super) fn names<'t>(what: &'static str, between: Kind) -> impl FnMut(Items<'t>) -> Parsed<'t, Vec<Name>> {
    list("names in one list", sign(between, "a sign between two names"), name(what))
}

/// A part of a condition or value, one level deeper than what it stands in, with its place.
pub(super) fn part<'t, T>(
    mut part: impl Parser<Items<'t>, Output = T, Error = Miss>,
) -> impl FnMut(Items<'t>) -> Parsed<'t, Located<T>> {
    move |items| {
        if items.terms == MAX_TERMS {
            return Err(items.wrong(MissKind::TooLarge("parts in one condition or value", MAX_TERMS)));
        }
        if items.depth == MAX_DEPTH {
            return Err(items.wrong(MissKind::TooLarge("parts inside each other", MAX_DEPTH)));
        }
        let (rest, found) = part.parse(Items { terms: items.terms + 1, depth: items.depth + 1, ..items })?;
        Ok((Items { depth: items.depth, ..rest }, Located::new(found, rest.since(items.at))))
    }
}

/// `day`, one that the calendar has.
pub(super) fn day(items: Items<'_>) -> Parsed<'_, Located<Day>> {
    let written = |token: Token, bytes| (token.kind == Kind::Day).then(|| Located::new(lossy(bytes), token.span()));
    let (rest, text) = token(Expected::Words("a day such as 2027-03-01"), written)(items)?;
    match Day::parse(&text.value) {
        Ok(day) => Ok((rest, Located::new(day, text.span))),
        Err(_) => Err(items.wrong(MissKind::Range(Allowed::Words("a day that the calendar has")))),
    }
}

/// `integer`, a whole number within limits.
pub(super) fn integer<'t>(low: i64, high: i64) -> impl Fn(Items<'t>) -> Parsed<'t, Located<i64>> {
    move |items| {
        let (rest, number) = decimal(Expected::Words("a whole number"))(items)?;
        match number.value.to_whole() {
            Some(value) if (low..=high).contains(&value) => Ok((rest, Located::new(value, number.span))),
            _ => Err(items.wrong(MissKind::Range(Allowed::Whole(low, high)))),
        }
    }
}

/// `integer | integer ".." integer`, of which the second is not the lesser.
pub(super) fn integer_range<'t>(low: i64, high: i64) -> impl FnMut(Items<'t>) -> Parsed<'t, (i64, i64)> {
    let between = move |items: Items<'t>| {
        let (rest, ends) = decimal_range(OTHER)(items)?;
        match (ends.0.to_whole(), ends.1.to_whole()) {
            (Some(a), Some(b)) if low <= a && a <= b && b <= high => Ok((rest, (a, b))),
            _ => Err(items.wrong(MissKind::Range(Allowed::Rising(low, high)))),
        }
    };
    let one = move |items| integer(low, high).map(|number| (number.value, number.value)).parse(items);
    move |items| alt((between, one)).parse(items)
}

/// Whole numbers and ranges of them: `5, 6, 8..10`.
pub(super) fn integers<'t>(low: i64, high: i64) -> impl FnMut(Items<'t>) -> Parsed<'t, Vec<(i64, i64)>> {
    list("numbers in one list", comma(), integer_range(low, high))
}

fn decimal<'t>(expected: Expected) -> impl Fn(Items<'t>) -> Parsed<'t, Located<Decimal>> {
    token(expected, |token, bytes| {
        let number = Decimal::parse(bytes).filter(|_| token.kind == Kind::Number)?;
        Some(Located::new(number, token.span()))
    })
}

fn decimal_range<'t>(expected: Expected) -> impl Fn(Items<'t>) -> Parsed<'t, (Decimal, Decimal)> {
    token(expected, |token, bytes| halves(bytes).filter(|_| token.kind == Kind::Range))
}

/// A unit of this dimension, which has to be there.
fn unit<'t>(dimension: Dimension) -> impl Fn(Items<'t>) -> Parsed<'t, Unit> {
    move |items| match items.peek().map(|token| token.kind) {
        Some(Kind::Unit(unit)) if dimension.units().contains(&unit) => Ok((Items { at: items.at + 1, ..items }, unit)),
        Some(Kind::Unit(_)) => Err(items.wrong(MissKind::Unit(dimension))),
        // The place of a missing unit is the number that misses it.
        _ => Err(Items { at: items.at.saturating_sub(1), ..items }.wrong(MissKind::Unit(dimension))),
    }
}

/// The number in the first unit of its dimension. It stands at the front of `items`.
fn converted(items: Items<'_>, number: Decimal, unit: Unit, dimension: Dimension) -> Result<Decimal, nom::Err<Miss>> {
    if dimension.units().first() == Some(&unit) {
        return Ok(number);
    }
    let too_large = || items.wrong(MissKind::Range(Allowed::Words("a number of this size")));
    dimension.convert(number, unit).ok_or_else(too_large)
}

/// `number unit`, with a unit of this dimension.
pub(super) fn number<'t>(dimension: Dimension) -> impl Fn(Items<'t>) -> Parsed<'t, Located<Decimal>> {
    move |items| {
        let (rest, (number, unit)) = (decimal(Expected::Number(dimension)), unit(dimension)).parse(items)?;
        Ok((rest, Located::new(converted(items, number.value, unit, dimension)?, rest.since(items.at))))
    }
}

/// `range unit`, with a unit of this dimension, rising or of one point.
pub(super) fn range<'t>(dimension: Dimension) -> impl Fn(Items<'t>) -> Parsed<'t, Located<(Decimal, Decimal)>> {
    move |items| {
        let (rest, ((low, high), unit)) = (decimal_range(Expected::Range(dimension)), unit(dimension)).parse(items)?;
        if low > high {
            return Err(items.wrong(MissKind::Range(Allowed::Words("a range that rises"))));
        }
        let ends = (converted(items, low, unit, dimension)?, converted(items, high, unit, dimension)?);
        Ok((rest, Located::new(ends, rest.since(items.at))))
    }
}

/// `numbers = number [unit] {"," number [unit]}`; one without a unit takes the unit of the last, which has to have one.
pub(super) fn numbers<'t>(dimension: Dimension) -> impl Fn(Items<'t>) -> Parsed<'t, Vec<Located<Decimal>>> {
    move |items| {
        let own_unit = |items: Items<'t>| match items.peek().map(|token| token.kind) {
            Some(Kind::Unit(_)) => unit(dimension).map(Some).parse(items),
            _ => Ok((items, None)),
        };
        let one = |items: Items<'t>| {
            let (rest, (number, unit)) = (decimal(Expected::Number(dimension)), own_unit).parse(items)?;
            Ok((rest, (items, number, unit)))
        };
        let (rest, written) = list("numbers in one list", comma(), one).parse(items)?;
        let last = match written.last() {
            Some((_, _, Some(last))) => *last,
            _ => unit(dimension).parse(rest)?.1,
        };
        let located = |(items, number, unit): (Items<'t>, Located<Decimal>, Option<Unit>)| {
            Ok(Located::new(converted(items, number.value, unit.unwrap_or(last), dimension)?, number.span))
        };
        Ok((rest, written.into_iter().map(located).collect::<Result<_, _>>()?))
    }
}

/// `duration = number unit {number unit}`, in seconds.
pub(super) fn duration(items: Items<'_>) -> Parsed<'_, Located<Decimal>> {
    let (mut rest, mut total) = number(Dimension::Time)(items)?;
    while rest.peek().is_some_and(|token| token.kind == Kind::Number) {
        let (after, next) = number(Dimension::Time)(rest)?;
        let sum = add(total.value, next.value);
        total = Located::new(sum.ok_or_else(|| after.other(Expected::Words("a shorter time")))?, after.since(items.at));
        rest = after;
    }
    Ok((rest, total))
}

/// `points = point {"," point} ; point = number ["%"] ":" number ["%"]`
pub(super) fn points(items: Items<'_>) -> Parsed<'_, Vec<(Located<Decimal>, Decimal)>> {
    let percent = || token(OTHER, |token, _| (token.kind == Kind::Unit(Unit::Percent)).then_some(()));
    let number = |what| (decimal(Expected::Words(what)), opt(percent())).map(|(number, _)| number);
    let second = (sign(Kind::Colon, "`:` and the point's second number"), number("the point's second number"));
    let point = (number("a point such as -100:-100"), second).map(|(x, (_, y))| (x, y.value));
    list("points of a curve", comma(), point).parse(items)
}

/// The sum, where it can be kept.
fn add(a: Decimal, b: Decimal) -> Option<Decimal> {
    let scale = a.scale().max(b.scale());
    let widen = |number: Decimal| number.mantissa().checked_mul(10i64.checked_pow(u32::from(scale - number.scale()))?);
    Some(Decimal::new(widen(a)?.checked_add(widen(b)?)?, scale))
}

fn halves(range: &[u8]) -> Option<(Decimal, Decimal)> {
    let at = range.windows(2).position(|pair| pair == b"..")?;
    Some((Decimal::parse(range.get(..at)?)?, Decimal::parse(range.get(at + 2..)?)?))
}

fn lossy(bytes: &[u8]) -> CompactString {
    // Texts are UTF-8; a text that is not is only read for what can be told of it.
    std::str::from_utf8(bytes).map_or_else(|_| CompactString::from_utf8_lossy(bytes), CompactString::new)
}

/// The text of a word or string token, with its escapes resolved.
pub(super) fn text(bytes: &[u8], token: Token) -> CompactString {
    let raw = token.of(bytes);
    if token.kind != Kind::Text {
        return lossy(raw);
    }
    unescaped(raw.get(1..raw.len().saturating_sub(1)).unwrap_or_default())
}

/// What stands between quotes, with its escapes resolved.
pub(super) fn unescaped(inner: &[u8]) -> CompactString {
    if !inner.contains(&b'\\') {
        return lossy(inner);
    }
    let source = String::from_utf8_lossy(inner);
    let mut out = CompactString::default();
    let mut characters = source.chars();
    while let Some(character) = characters.next() {
        if character != '\\' {
            out.push(character);
            continue;
        }
        match characters.next() {
            Some('n') => out.push('\n'),
            Some('t') => out.push('\t'),
            Some('u') => {
                let hex: String = characters.by_ref().skip(1).take_while(|&c| c != '}').collect();
                out.extend(u32::from_str_radix(&hex, 16).ok().and_then(char::from_u32));
            }
            Some(other) => out.push(other),
            None => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{Known, Tables, parse};

    /// What a parser makes of the items of a text, as it is shown; or the item that is a miss.
    fn read<T: std::fmt::Debug>(text: &str, parser: impl Fn(Items<'_>) -> Parsed<'_, T>) -> Result<String, usize> {
        let text = format!("x {text}");
        let mut tables = Tables::default();
        parse(text.as_bytes(), |_, _, _| Known::No, &mut tables);
        let mut items = Items::new(text.as_bytes(), tables.items(&tables.statements[0]), 1);
        let before = items.at();
        let found = items.take(parser);
        assert!(found.is_ok() || items.at() == before, "a miss takes nothing: {text}");
        found.map(|found| format!("{found:?}")).map_err(|miss| miss.at)
    }

    fn decimals(list: &[(Located<Decimal>, Decimal)]) -> String {
        list.iter().map(|(x, y)| format!("{}:{y} ", x.value)).collect()
    }

    #[test]
    fn single_items() {
        let value = |name: Name| name.value.to_string();
        for (text, wanted) in [("roll", Ok("roll")), ("\"a \\u{e9}\\n\"", Ok("a é\n")), ("5", Err(0)), ("", Err(0))] {
            let found = read(text, |items| name("a name").map(value).parse(items));
            assert_eq!(found, wanted.map(|name| format!("{name:?}")), "{text}");
        }
        for (text, wanted) in [("up", Ok("up")), ("3", Ok("3")), ("\"\"", Ok("")), (",", Err(0))] {
            let found = read(text, |items| position.map(value).parse(items));
            assert_eq!(found, wanted.map(|name| format!("{name:?}")), "{text}");
        }
        for (text, wanted) in [("1", Ok("1")), ("64", Ok("64")), ("65", Err(0)), ("1.5", Err(0)), ("x", Err(0))] {
            let found = read(text, |items| integer(1, 64).map(|number| number.value).parse(items));
            assert_eq!(found, wanted.map(str::to_owned), "{text}");
        }
    }

    #[test]
    fn lists_of_whole_numbers() {
        for (text, wanted) in [
            ("5", Ok("[(5, 5)]")),
            ("5, 6, 8..10", Ok("[(5, 5), (6, 6), (8, 10)]")),
            ("5 6", Ok("[(5, 5)]")),
            ("5,", Err(2)),
            ("5, 8..6", Err(2)),
            ("5, 8..65", Err(2)),
        ] {
            let found = read(text, |items| integers(1, 64).parse(items));
            assert_eq!(found, wanted.map(str::to_owned), "{text}");
        }
        let long = vec!["1"; MAX_TERMS + 1].join(", ");
        assert_eq!(read(&long, |items| integers(1, 64).parse(items)), Err(2 * MAX_TERMS));
        assert!(read(&long[3..], |items| integers(1, 64).parse(items)).is_ok());
    }

    #[test]
    fn numbers_have_a_unit_of_their_dimension() {
        fn milliwatts(items: Items<'_>) -> Parsed<'_, String> {
            number(Dimension::Power).map(|number| number.value.to_string()).parse(items)
        }
        for (text, wanted) in [
            ("160 mW", Ok("160")),
            ("0.1 W", Ok("100")),
            ("5", Err(0)),
            ("5 us", Err(1)),
            ("mW", Err(0)),
            ("123456789012345 dBm", Err(0)),
        ] {
            assert_eq!(read(text, milliwatts), wanted.map(|text| format!("{text:?}")), "{text}");
        }
        fn pulses(items: Items<'_>) -> Parsed<'_, String> {
            range(Dimension::Pulse).map(|range| format!("{}..{}", range.value.0, range.value.1)).parse(items)
        }
        for (text, wanted) in [
            ("870..2140 us", Ok("870..2140")),
            ("1..1.5 ms", Ok("1000..1500")),
            ("5..5 us", Ok("5..5")),
            ("6..5 us", Err(0)),
            ("5..6", Err(0)),
            ("5 us", Err(0)),
        ] {
            assert_eq!(read(text, pulses), wanted.map(|text| format!("{text:?}")), "{text}");
        }
    }

    #[test]
    fn a_list_takes_the_last_unit_for_numbers_without_one() {
        let shown =
            |list: Vec<Located<Decimal>>| list.iter().map(|number| format!("{} ", number.value)).collect::<String>();
        for (text, wanted) in [
            ("45, 110, 185 Hz", Ok("45 110 185 ")),
            ("1 kHz, 2, 3 Hz", Ok("1000 2 3 ")),
            ("45 Hz", Ok("45 ")),
            ("45, 110", Err(2)),
            ("45 Hz, 110", Err(3)),
            ("45 us, 110 Hz", Err(1)),
            ("45,", Err(2)),
        ] {
            let found = read(text, |items| numbers(Dimension::Frequency).map(shown).parse(items));
            assert_eq!(found, wanted.map(|text| format!("{text:?}")), "{text}");
        }
    }

    #[test]
    fn durations_add_up() {
        for (text, wanted) in [
            ("2 min 30 s", Ok("150")),
            ("0.5 s", Ok("0.5")),
            ("1 s 5 ms 7 us", Ok("1.005007")),
            ("2 min 30", Err(2)),
            ("2", Err(0)),
        ] {
            let found = read(text, |items| duration.map(|time| time.value.to_string()).parse(items));
            assert_eq!(found, wanted.map(|text| format!("{text:?}")), "{text}");
        }
    }

    #[test]
    fn points_are_pairs() {
        for (text, wanted) in [
            ("-100:-100, 0:0, 100:90.5", Ok("-100:-100 0:0 100:90.5 ")),
            ("-100 %:5 %", Ok("-100:5 ")),
            ("5", Err(1)),
            ("5:", Err(2)),
            ("5:6,", Err(4)),
        ] {
            let found = read(text, |items| points.map(|list| decimals(&list)).parse(items));
            assert_eq!(found, wanted.map(|text| format!("{text:?}")), "{text}");
        }
    }

    #[test]
    fn names_stand_between_signs() {
        let joined = |names: Vec<Name>| names.iter().map(|name| name.value.to_string()).collect::<Vec<_>>().join("|");
        for (text, between, wanted) in [
            ("a, \"b c\", d", Kind::Comma, Ok("a|b c|d")),
            ("a + b, c", Kind::Plus, Ok("a|b")),
            ("a,", Kind::Comma, Err(2)),
        ] {
            let found = read(text, |items| names("a name", between).map(joined).parse(items));
            assert_eq!(found, wanted.map(|text| format!("{text:?}")), "{text}");
        }
    }
}
