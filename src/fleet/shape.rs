//! Shapes of statements: made ready from the table's text, and held against the items of a statement.

use super::condition::{Condition, Name, Value};
use super::day::Day;
use super::items::{self, Items};
use super::miss::{Allowed, Expected, Miss, MissKind, Read};
use super::number::{Decimal, Dimension};
use super::table::lists::listed;
use super::trees;
use crate::source::{Located, Span};
use crate::syntax::Kind;
use compact_str::CompactString;

/// A part of a shape.
#[derive(Debug)]
pub(super) enum Part {
    Word(&'static str),
    Sign(Kind),
    Slot(&'static str, SlotKind),
    Optional(Vec<Part>),
    Repeat(Vec<Part>),
}

/// What a slot of a shape takes.
#[derive(Debug)]
pub(super) enum SlotKind {
    Name,
    Position,
    Integer(i64, i64),
    Integers(i64, i64),
    IntegerRange(i64, i64),
    Number(Dimension, Option<(i64, i64)>),
    Numbers(Dimension),
    Range(Dimension, Option<(i64, i64)>),
    Duration,
    Day,
    Names(Kind),
    Points,
    Condition,
    Value,
    OneOf(&'static [&'static str]),
    SomeOf(&'static [&'static str]),
}

/// What a slot of a shape took.
#[derive(Clone, Debug, PartialEq)]
pub enum Capture {
    /// A name or position.
    Name(CompactString),
    /// A whole number.
    Integer(i64),
    /// Whole numbers as ranges.
    Integers(Vec<(i64, i64)>),
    /// A number in its dimension's first unit.
    Number(Decimal),
    /// Several of them.
    Numbers(Vec<Located<Decimal>>),
    /// A range in its dimension's first unit.
    Range(Decimal, Decimal),
    /// A day.
    Day(Day),
    /// Several names.
    Names(Vec<Name>),
    /// The points of a curve.
    Points(Vec<(Located<Decimal>, Decimal)>),
    /// A condition.
    Condition(Box<Condition>),
    /// A value.
    Value(Box<Value>),
    /// One of the shape's own words.
    Word(&'static str),
    /// Several of them.
    Words(Vec<Located<&'static str>>),
}

/// What the slots of a statement's shape took, in text order.
#[derive(Debug, Default)]
pub struct Captures {
    /// Slot, place and what was taken.
    pub list: Vec<(&'static str, Located<Capture>)>,
}

/// One shape of a statement.
#[derive(Debug)]
pub struct Shape {
    parts: Vec<Part>,
    has_body: bool,
}

impl Shape {
    /// Makes the table's text ready. A text that is no shape gives a shape that takes a word nobody writes; the
    /// table's test refuses it.
    pub fn new(text: &'static str) -> Self {
        let mut pieces: Vec<&'static str> = pieces(text).collect();
        let has_body = pieces.last() == Some(&"{");
        if has_body {
            pieces.pop();
        }
        let mut pieces = pieces.into_iter();
        Self { parts: parts(&mut pieces), has_body }
    }

    /// Whether the statement opens a block in this shape.
    pub fn has_body(&self) -> bool {
        self.has_body
    }

    /// Its parts, in text order.
    pub(super) fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Holds the shape against all items. `captures` is filled anew.
    pub fn take(&self, items: &mut Items<'_>, captures: &mut Captures) -> Read<()> {
        captures.list.clear();
        let mut furthest = None;
        take(&self.parts, items, captures, &mut furthest)?;
        if items.peek().is_none() {
            return Ok(());
        }
        match furthest {
            // What was tried and given up further back is not what stands here.
            Some(miss) if miss.at >= items.at() => Err(miss),
            _ => items.miss("the end of the line"),
        }
    }
}

/// The words, signs, slots and brackets of a shape as the table writes it.
pub fn pieces(text: &str) -> impl Iterator<Item = &str> {
    let mut rest = text.trim();
    std::iter::from_fn(move || {
        let length = match rest.chars().next()? {
            '<' => rest.find('>').map_or(rest.len(), |at| at + 1),
            '[' | ']' | '(' => 1,
            ')' => 2.min(rest.len()),
            _ => rest.find([' ', '[', ']', '(', ')']).unwrap_or(rest.len()),
        };
        let (piece, after) = rest.split_at(length);
        rest = after.trim_start();
        Some(piece)
    })
}

fn parts(pieces: &mut impl Iterator<Item = &'static str>) -> Vec<Part> {
    let mut list = Vec::new();
    while let Some(piece) = pieces.next() {
        list.push(match piece {
            "]" | ")*" => break,
            "[" => Part::Optional(parts(pieces)),
            "(" => Part::Repeat(parts(pieces)),
            "=" => Part::Sign(Kind::Equals),
            "," => Part::Sign(Kind::Comma),
            _ => match piece.strip_prefix('<').and_then(|inner| inner.strip_suffix('>')) {
                Some(inner) => slot(inner),
                None => Part::Word(piece),
            },
        });
    }
    list
}

fn slot(inner: &'static str) -> Part {
    if let Some((name, words)) = inner.split_once('=') {
        return match words.strip_suffix(',') {
            Some(words) => Part::Slot(name, SlotKind::SomeOf(kept(words))),
            None => Part::Slot(name, SlotKind::OneOf(kept(words))),
        };
    }
    let (name, kind) = inner.split_once(':').unwrap_or((inner, "?"));
    let mut words = kind.split(' ');
    let kind = words.next().unwrap_or_default();
    let (argument, limits) = (words.next().unwrap_or_default(), words.next());
    let limits_of = |text: &str| -> Option<(i64, i64)> {
        let (low, high) = text.split_once("..")?;
        Some((low.parse().ok()?, high.parse().ok()?))
    };
    let (low, high) = limits_of(argument).unwrap_or((0, i64::MAX));
    let dimension = Dimension::find(argument).unwrap_or(Dimension::Percent);
    let limits = limits.and_then(limits_of);
    Part::Slot(
        name,
        match kind {
            "name" => SlotKind::Name,
            "position" => SlotKind::Position,
            "int" => SlotKind::Integer(low, high),
            "ints" => SlotKind::Integers(low, high),
            "int-range" => SlotKind::IntegerRange(low, high),
            "number" => SlotKind::Number(dimension, limits),
            "numbers" => SlotKind::Numbers(dimension),
            "range" => SlotKind::Range(dimension, limits),
            "duration" => SlotKind::Duration,
            "day" => SlotKind::Day,
            "names" => SlotKind::Names(Kind::Comma),
            "sum" => SlotKind::Names(Kind::Plus),
            "points" => SlotKind::Points,
            "condition" => SlotKind::Condition,
            "value" => SlotKind::Value,
            _ => return Part::Word("this shape is wrong"),
        },
    )
}

/// The words of a slot. The table of shapes is made once and kept to the end of the program, so its words may be too.
fn kept(words: &'static str) -> &'static [&'static str] {
    words.split('|').collect::<Vec<_>>().leak()
}

fn further(furthest: &mut Option<Miss>, miss: Miss) {
    if furthest.as_ref().is_none_or(|known| miss.at > known.at) {
        *furthest = Some(miss);
    }
}

fn take(parts: &[Part], items: &mut Items<'_>, captures: &mut Captures, furthest: &mut Option<Miss>) -> Read<()> {
    for part in parts {
        match part {
            Part::Word(word) => {
                if !items.word(word) {
                    return best(items.expected(Expected::Word(word)), furthest);
                }
            }
            Part::Sign(kind) => {
                if !items.sign(*kind) {
                    return best(items.miss(if *kind == Kind::Comma { "`,`" } else { "`=`" }), furthest);
                }
            }
            Part::Slot(name, kind) => {
                let from = items.at();
                match take_slot(kind, items) {
                    Ok(capture) => captures.list.push((name, Located::new(capture, items.since(from)))),
                    Err(miss) => return best(Err(miss), furthest),
                }
            }
            Part::Optional(inner) => {
                attempt(inner, items, captures, furthest);
            }
            Part::Repeat(inner) => loop {
                let (from, length) = (items.at(), captures.list.len());
                if !attempt(inner, items, captures, furthest) {
                    break;
                }
                // Where each round begins, so that what rounds inside it took can be told apart.
                if let Some(Part::Word(word)) = inner.first() {
                    captures.list.insert(length, (word, Located::new(Capture::Word(word), items.span_at(from))));
                }
            },
        }
    }
    Ok(())
}

/// The miss that lies furthest on is the one a reader can use.
fn best(result: Read<()>, furthest: &mut Option<Miss>) -> Read<()> {
    match (result, furthest.take()) {
        (Err(miss), Some(known)) if known.at > miss.at => Err(known),
        (result, _) => result,
    }
}

fn attempt(inner: &[Part], items: &mut Items<'_>, captures: &mut Captures, furthest: &mut Option<Miss>) -> bool {
    if let [Part::Word(word), ..] = inner
        && items.peek_word() != Some(word.as_bytes())
    {
        // Most of what may be left out is, and its first word tells.
        if furthest.is_none_or(|known| known.at <= items.at()) {
            *furthest = Some(Miss { at: items.at(), kind: MissKind::Expected(Expected::Word(word)) });
        }
        return false;
    }
    let (before, length) = (*items, captures.list.len());
    match take(inner, items, captures, furthest) {
        Ok(()) => items.at() > before.at(),
        Err(miss) => {
            *items = before;
            captures.list.truncate(length);
            further(furthest, miss);
            false
        }
    }
}

pub(super) fn take_slot(kind: &SlotKind, items: &mut Items<'_>) -> Read<Capture> {
    Ok(match kind {
        SlotKind::Name => Capture::Name(items.take(items::name("a name"))?.value),
        SlotKind::Position => Capture::Name(items.take(items::position)?.value),
        SlotKind::Integer(low, high) => Capture::Integer(items.take(items::integer(*low, *high))?.value),
        SlotKind::Integers(low, high) => Capture::Integers(items.take(items::integers(*low, *high))?),
        SlotKind::IntegerRange(low, high) => {
            let (low, high) = items.take(items::integer_range(*low, *high))?;
            Capture::Integers(vec![(low, high)])
        }
        SlotKind::Number(dimension, limits) => {
            let at = items.at();
            let number = items.take(items::number(*dimension))?.value;
            within(number, *limits, *dimension, at)?;
            Capture::Number(number)
        }
        SlotKind::Numbers(dimension) => Capture::Numbers(items.take(items::numbers(*dimension))?),
        SlotKind::Range(dimension, limits) => {
            let at = items.at();
            let (low, high) = items.take(items::range(*dimension))?.value;
            within(low, *limits, *dimension, at)?;
            within(high, *limits, *dimension, at)?;
            Capture::Range(low, high)
        }
        SlotKind::Duration => Capture::Number(items.take(items::duration)?.value),
        SlotKind::Day => Capture::Day(items.take(items::day)?.value),
        SlotKind::Names(between) => Capture::Names(items.take(items::names("a name", *between))?),
        SlotKind::Points => Capture::Points(items.take(items::points)?),
        SlotKind::Condition => Capture::Condition(Box::new(items.take(trees::condition)?)),
        SlotKind::Value => Capture::Value(Box::new(items.take(trees::value)?)),
        SlotKind::OneOf(words) => Capture::Word(one_of(words, items)?.value),
        SlotKind::SomeOf(words) => {
            let mut list = vec![one_of(words, items)?];
            while items.sign(Kind::Comma) {
                list.push(one_of(words, items)?);
            }
            Capture::Words(list)
        }
    })
}

fn one_of(words: &'static [&'static str], items: &mut Items<'_>) -> Read<Located<&'static str>> {
    let found = items.peek_word().and_then(|word| listed(words, word));
    match (found, items.peek()) {
        (Some(word), Some(token)) => {
            items.skip();
            Ok(Located::new(word, token.span()))
        }
        _ => items.expected(Expected::OneOf(words)),
    }
}

fn within(number: Decimal, limits: Option<(i64, i64)>, dimension: Dimension, at: usize) -> Read<()> {
    match limits {
        Some((low, high)) if number < Decimal::whole(low) || number > Decimal::whole(high) => {
            Err(Miss { at, kind: MissKind::Range(Allowed::Within(low, high, dimension.units()[0])) })
        }
        _ => Ok(()),
    }
}

impl Captures {
    fn find(&self, slot: &str) -> Option<&Located<Capture>> {
        self.list.iter().find(|(name, _)| *name == slot).map(|(_, capture)| capture)
    }

    /// All captures of one slot, in text order.
    pub fn all(&self, slot: &str) -> impl Iterator<Item = &Located<Capture>> {
        self.list.iter().filter(move |(name, _)| *name == slot).map(|(_, capture)| capture)
    }

    /// Where a slot's item stands.
    pub fn span(&self, slot: &str) -> Option<Span> {
        self.find(slot).map(|capture| capture.span)
    }

    /// Takes out the name in a slot.
    pub fn name(&mut self, slot: &str) -> Option<Name> {
        match self.list.iter_mut().find(|(name, _)| *name == slot).map(|(_, capture)| capture)? {
            Located { value: Capture::Name(name), span } => Some(Located::new(std::mem::take(name), *span)),
            _ => None,
        }
    }

    /// The whole number in a slot.
    pub fn integer(&self, slot: &str) -> Option<Located<i64>> {
        match self.find(slot)? {
            Located { value: Capture::Integer(number), span } => Some(Located::new(*number, *span)),
            _ => None,
        }
    }

    /// The number in a slot.
    pub fn number(&self, slot: &str) -> Option<Located<Decimal>> {
        match self.find(slot)? {
            Located { value: Capture::Number(number), span } => Some(Located::new(*number, *span)),
            _ => None,
        }
    }

    /// The range in a slot.
    pub fn range(&self, slot: &str) -> Option<Located<(Decimal, Decimal)>> {
        match self.find(slot)? {
            Located { value: Capture::Range(low, high), span } => Some(Located::new((*low, *high), *span)),
            _ => None,
        }
    }

    /// The shape's own word in a slot.
    pub fn word(&self, slot: &str) -> Option<Located<&'static str>> {
        match self.find(slot)? {
            Located { value: Capture::Word(word), span } => Some(Located::new(*word, *span)),
            _ => None,
        }
    }

    /// The day in a slot.
    pub fn day(&self, slot: &str) -> Option<Located<Day>> {
        match self.find(slot)? {
            Located { value: Capture::Day(day), span } => Some(Located::new(*day, *span)),
            _ => None,
        }
    }

    /// Takes out what a slot holds.
    pub fn remove(&mut self, slot: &str) -> Option<Located<Capture>> {
        let at = self.list.iter().position(|(name, _)| *name == slot)?;
        Some(self.list.swap_remove(at).1)
    }

    /// Takes out the condition of a slot.
    pub fn condition(&mut self, slot: &str) -> Option<Condition> {
        match self.remove(slot)?.value {
            Capture::Condition(condition) => Some(*condition),
            _ => None,
        }
    }

    /// Takes out the value of a slot.
    pub fn value(&mut self, slot: &str) -> Option<Value> {
        match self.remove(slot)?.value {
            Capture::Value(value) => Some(*value),
            _ => None,
        }
    }
}
