//! The items of one statement, read one after the other, and what is said where they do not fit.

use super::condition::Name;
use super::miss::{Allowed, Expected, Miss, MissKind, Read};
use super::number::{Decimal, Dimension};
use crate::source::{Located, Span};
use crate::syntax::{Kind, Token, Unit};
use compact_str::CompactString;

/// How deep conditions and values may be nested.
pub const MAX_DEPTH: usize = 32;
/// How many parts one condition or value may have, and how many names one list.
pub const MAX_TERMS: usize = 500;

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
        self.tokens.get(self.at).copied()
    }

    /// The bytes of the next token where it is a word.
    pub fn peek_word(&self) -> Option<&'t [u8]> {
        self.peek().filter(|token| token.kind == Kind::Word).map(|token| token.of(self.bytes))
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

    /// Takes a sign.
    pub fn sign(&mut self, kind: Kind) -> bool {
        let found = self.peek().is_some_and(|token| token.kind == kind);
        self.at += usize::from(found);
        found
    }

    /// Takes a word.
    pub fn word(&mut self, word: &str) -> bool {
        let found = self.peek_word() == Some(word.as_bytes());
        self.at += usize::from(found);
        found
    }

    /// Goes one level deeper into a condition or value, or refuses to.
    pub fn deeper(&mut self) -> Read<()> {
        self.depth += 1;
        if self.depth > MAX_DEPTH {
            return Err(Miss { at: self.at, kind: MissKind::TooLarge("parts inside each other", MAX_DEPTH) });
        }
        Ok(())
    }

    /// Comes back from [`Items::deeper`].
    pub fn shallower(&mut self) {
        self.depth -= 1;
    }

    /// Counts a part of a condition or value.
    pub fn count_term(&mut self) -> Read<()> {
        self.terms += 1;
        if self.terms > MAX_TERMS {
            return Err(Miss { at: self.at, kind: MissKind::TooLarge("parts in one condition or value", MAX_TERMS) });
        }
        Ok(())
    }

    /// A name: a word or a string.
    pub fn name(&mut self, what: &'static str) -> Read<Name> {
        match self.peek() {
            Some(token) if matches!(token.kind, Kind::Word | Kind::Text) => {
                self.at += 1;
                Ok(Located::new(text(self.bytes, token), token.span()))
            }
            _ => self.miss(what),
        }
    }

    /// A position of a control: a word, a string or a whole number.
    pub fn position(&mut self) -> Read<Name> {
        match self.peek() {
            Some(token) if token.kind == Kind::Number => {
                self.at += 1;
                Ok(Located::new(lossy(token.of(self.bytes)), token.span()))
            }
            _ => self.name("a position"),
        }
    }

    /// A whole number within limits.
    pub fn integer(&mut self, low: i64, high: i64) -> Read<Located<i64>> {
        let Some(token) = self.peek().filter(|token| token.kind == Kind::Number) else {
            return self.miss("a whole number");
        };
        let value = Decimal::parse(token.of(self.bytes)).and_then(Decimal::to_whole);
        match value {
            Some(value) if (low..=high).contains(&value) => {
                self.at += 1;
                Ok(Located::new(value, token.span()))
            }
            _ => Err(Miss { at: self.at, kind: MissKind::Range(Allowed::Whole(low, high)) }),
        }
    }

    /// Whole numbers and ranges of them, as a list: `5, 6, 8..10`.
    pub fn integers(&mut self, low: i64, high: i64) -> Read<Vec<(i64, i64)>> {
        let mut list = Vec::new();
        loop {
            list.push(self.integer_range(low, high)?);
            if !self.sign(Kind::Comma) {
                return Ok(list);
            }
        }
    }

    /// A whole number or a range of whole numbers.
    pub fn integer_range(&mut self, low: i64, high: i64) -> Read<(i64, i64)> {
        match self.peek().filter(|token| token.kind == Kind::Range) {
            None => self.integer(low, high).map(|number| (number.value, number.value)),
            Some(token) => {
                let ends = halves(token.of(self.bytes));
                let whole = ends.and_then(|(a, b)| Some((a.to_whole()?, b.to_whole()?)));
                match whole {
                    Some((a, b)) if low <= a && a <= b && b <= high => {
                        self.at += 1;
                        Ok((a, b))
                    }
                    _ => Err(Miss { at: self.at, kind: MissKind::Range(Allowed::Rising(low, high)) }),
                }
            }
        }
    }

    fn unit(&mut self, dimension: Dimension) -> Read<Unit> {
        match self.peek() {
            Some(Token { kind: Kind::Unit(unit), .. }) if dimension.units().contains(&unit) => {
                self.at += 1;
                Ok(unit)
            }
            // The place of a missing unit is the number that misses it.
            Some(Token { kind: Kind::Unit(_), .. }) => Err(Miss { at: self.at, kind: MissKind::Unit(dimension) }),
            _ => Err(Miss { at: self.at.saturating_sub(1), kind: MissKind::Unit(dimension) }),
        }
    }

    fn converted(&self, value: Decimal, unit: Unit, dimension: Dimension) -> Read<Decimal> {
        if dimension.units().first() == Some(&unit) {
            return Ok(value);
        }
        let too_large =
            || Miss { at: self.at.saturating_sub(2), kind: MissKind::Range(Allowed::Words("a number of this size")) };
        dimension.convert(value, unit).ok_or_else(too_large)
    }

    /// A number with a unit of this dimension.
    pub fn number(&mut self, dimension: Dimension) -> Read<Located<Decimal>> {
        let from = self.at;
        let Some(token) = self.peek().filter(|token| token.kind == Kind::Number) else {
            return self.expected(Expected::Number(dimension));
        };
        let Some(value) = Decimal::parse(token.of(self.bytes)) else { return self.miss("a number") };
        self.at += 1;
        let unit = self.unit(dimension)?;
        Ok(Located::new(self.converted(value, unit, dimension)?, self.since(from)))
    }

    /// A range with a unit of this dimension, rising or of one point.
    pub fn range(&mut self, dimension: Dimension) -> Read<Located<(Decimal, Decimal)>> {
        let from = self.at;
        let Some(token) = self.peek().filter(|token| token.kind == Kind::Range) else {
            return self.expected(Expected::Range(dimension));
        };
        let Some((low, high)) = halves(token.of(self.bytes)) else { return self.miss("a range") };
        self.at += 1;
        let unit = self.unit(dimension)?;
        if low > high {
            return Err(Miss { at: from, kind: MissKind::Range(Allowed::Words("a range that rises")) });
        }
        let ends = (self.converted(low, unit, dimension)?, self.converted(high, unit, dimension)?);
        Ok(Located::new(ends, self.since(from)))
    }

    /// A list of numbers; one without a unit takes the unit of the last.
    pub fn numbers(&mut self, dimension: Dimension) -> Read<Vec<Located<Decimal>>> {
        let mut raw: Vec<(Decimal, Option<Unit>, usize)> = Vec::new();
        loop {
            let at = self.at;
            let Some(token) = self.peek().filter(|token| token.kind == Kind::Number) else {
                return self.expected(Expected::Number(dimension));
            };
            let Some(value) = Decimal::parse(token.of(self.bytes)) else { return self.miss("a number") };
            self.at += 1;
            let unit = match self.peek() {
                Some(Token { kind: Kind::Unit(_), .. }) => Some(self.unit(dimension)?),
                _ => None,
            };
            raw.push((value, unit, at));
            if !self.sign(Kind::Comma) {
                break;
            }
        }
        let Some(&(_, Some(last), _)) = raw.last() else { return self.unit(dimension).map(|_| Vec::new()) };
        let located = |&(value, unit, at): &(Decimal, Option<Unit>, usize)| {
            Ok(Located::new(self.converted(value, unit.unwrap_or(last), dimension)?, self.span_at(at)))
        };
        raw.iter().map(located).collect()
    }

    /// A time of one or more numbers: `2 min 30 s`, in seconds.
    pub fn duration(&mut self) -> Read<Located<Decimal>> {
        let mut total = self.number(Dimension::Time)?;
        while self.peek().is_some_and(|token| token.kind == Kind::Number) {
            let next = self.number(Dimension::Time)?;
            let sum = add(total.value, next.value);
            let Some(sum) = sum else { return self.miss("a shorter time") };
            total = Located::new(sum, total.span.to(next.span));
        }
        Ok(total)
    }

    /// The points of a curve: `-100:-100, 0:0, 100:90`, in percent.
    pub fn points(&mut self) -> Read<Vec<(Located<Decimal>, Decimal)>> {
        let mut points = Vec::new();
        loop {
            let x = self.plain("a point such as -100:-100")?;
            if !self.sign(Kind::Colon) {
                return self.miss("`:` and the point's second number");
            }
            let y = self.plain("the point's second number")?;
            points.push((x, y.value));
            if points.len() > MAX_TERMS {
                return Err(Miss { at: self.at, kind: MissKind::TooLarge("points of a curve", MAX_TERMS) });
            }
            if !self.sign(Kind::Comma) {
                return Ok(points);
            }
        }
    }

    fn plain(&mut self, what: &'static str) -> Read<Located<Decimal>> {
        let Some(token) = self.peek().filter(|token| token.kind == Kind::Number) else { return self.miss(what) };
        let Some(value) = Decimal::parse(token.of(self.bytes)) else { return self.miss(what) };
        self.at += 1;
        if matches!(self.peek(), Some(Token { kind: Kind::Unit(Unit::Percent), .. })) {
            self.at += 1;
        }
        Ok(Located::new(value, token.span()))
    }

    /// Names in a list, with this sign between them.
    pub fn names(&mut self, what: &'static str, between: Kind) -> Read<Vec<Name>> {
        let mut list = vec![self.name(what)?];
        while self.sign(between) {
            if list.len() == MAX_TERMS {
                return Err(Miss { at: self.at, kind: MissKind::TooLarge("names in one list", MAX_TERMS) });
            }
            list.push(self.name(what)?);
        }
        Ok(list)
    }
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
    let inner = raw.get(1..raw.len().saturating_sub(1)).unwrap_or_default();
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
