//! The grammar of conditions and values.

use super::condition::{Condition, ConditionKind, Measure, Name, Test, Value, ValueKind};
use super::items::{Items, Parsed, duration, fold, integer, list, name, number, part, position, range, sign, word};
use super::miss::{Expected, Miss};
use super::number::{Decimal, Dimension};
use crate::source::Located;
use crate::syntax::{Kind, Unit};
use nom::Parser;
use nom::branch::alt;
use nom::combinator::{cut, opt};
use nom::sequence::{delimited, preceded};

/// Words that end a condition or stand between its parts, and so are no names in it.
const BETWEEN: &[&[u8]] =
    &[b"and", b"or", b"reset", b"gives", b"when", b"while", b"above", b"below", b"becomes", b"between"];

/// What there are too many of where a condition or value is too long.
const PARTS: &str = "parts in one condition or value";

/// The highest channel number that can be written.
pub const MAX_CHANNEL: i64 = 64;

/// `condition = or ; or = and {"or" and}`
pub(super) fn condition(items: Items<'_>) -> Parsed<'_, Condition> {
    joined("or", conjunction, ConditionKind::Any, items)
}

/// `and = not {"and" not}`
fn conjunction(items: Items<'_>) -> Parsed<'_, Condition> {
    joined("and", negated, ConditionKind::All, items)
}

fn joined<'t>(
    between: &'static str,
    part: fn(Items<'t>) -> Parsed<'t, Condition>,
    join: fn(Vec<Condition>) -> ConditionKind,
    items: Items<'t>,
) -> Parsed<'t, Condition> {
    let (rest, mut parts) = list(PARTS, word(between), part).parse(items)?;
    Ok((
        rest,
        match (parts.pop(), parts.is_empty()) {
            (Some(only), true) => only,
            (last, _) => {
                parts.extend(last);
                Condition { span: rest.since(items.at()), kind: join(parts) }
            }
        },
    ))
}

/// `not = "not" not | "held" duration not | "(" or ")" | atom`
fn negated(items: Items<'_>) -> Parsed<'_, Condition> {
    part(alt((
        preceded(word("not"), cut(negated)).map(|inner| ConditionKind::Not(Box::new(inner))),
        preceded(word("held"), cut((duration, negated)))
            .map(|(time, inner)| ConditionKind::Held(time.value, Box::new(inner))),
        in_brackets(condition).map(|inner| inner.kind),
        atom,
    )))
    .map(|Located { value, span }| Condition { span, kind: value })
    .parse(items)
}

/// `"(" inner ")"`
fn in_brackets<'t, T>(
    inner: impl Parser<Items<'t>, Output = T, Error = Miss>,
) -> impl Parser<Items<'t>, Output = T, Error = Miss> {
    delimited(sign(Kind::Open, "`(`"), cut(inner), cut(sign(Kind::Close, "`)`")))
}

/// `atom = "channel" … | "mode" name | control … | condition-name`
fn atom(items: Items<'_>) -> Parsed<'_, ConditionKind> {
    alt((
        preceded(word("channel"), cut(channel_test)),
        preceded(word("mode"), cut(name("a mode's name"))).map(ConditionKind::Mode),
        named,
    ))
    .parse(items)
}

/// What follows the name that an atom begins with.
enum Behind {
    Becomes(Name),
    Side(bool, Decimal),
    Position(Name),
}

/// `control "becomes" position | axis ("above" | "below") number "%" | control position | condition-name`
fn named(items: Items<'_>) -> Parsed<'_, ConditionKind> {
    if stands_between(items) {
        return Err(items.other(Expected::Words("a condition")));
    }
    let (rest, name) = name("a condition, such as a control and its position")(items)?;
    let side = alt((word("above").map(|()| true), word("below").map(|()| false)));
    let behind = alt((
        preceded(word("becomes"), cut(position)).map(Behind::Becomes),
        (side, cut(number(Dimension::Percent))).map(|(above, threshold)| Behind::Side(above, threshold.value)),
        bare_position.map(Behind::Position),
    ));
    let (rest, behind) = opt(behind).parse(rest)?;
    Ok((
        rest,
        match behind {
            Some(Behind::Becomes(position)) => ConditionKind::Position { control: name, position, becomes: true },
            Some(Behind::Side(above, threshold)) => ConditionKind::Axis { axis: name, above, threshold },
            Some(Behind::Position(position)) => ConditionKind::Position { control: name, position, becomes: false },
            None => ConditionKind::Named(name),
        },
    ))
}

fn stands_between(items: Items<'_>) -> bool {
    items.peek_word().is_some_and(|word| BETWEEN.contains(&word))
}

fn bare_position(items: Items<'_>) -> Parsed<'_, Name> {
    if stands_between(items) { Err(items.other(Expected::Words("a position"))) } else { position(items) }
}

/// `integer (("above" | "below") number unit | "between" range unit)`
fn channel_test(items: Items<'_>) -> Parsed<'_, ConditionKind> {
    let (rest, channel) = channel_number(items)?;
    // The unit stands behind the word and the number or range.
    let (measure, dimension) = match rest.ahead(2).map(|token| token.kind) {
        Some(Kind::Unit(Unit::Percent)) => (Measure::Percent, Dimension::Percent),
        _ => (Measure::Pulse, Dimension::Pulse),
    };
    let (rest, test) = alt((
        preceded(word("above"), cut(number(dimension))).map(|number| Test::Above(number.value)),
        preceded(word("below"), cut(number(dimension))).map(|number| Test::Below(number.value)),
        preceded(word("between"), cut(range(dimension))).map(|range| Test::Between(range.value.0, range.value.1)),
        |items: Items<'_>| Err(items.other(Expected::Words("`above`, `below` or `between`"))),
    ))
    .parse(rest)?;
    Ok((rest, ConditionKind::Channel { channel, test, measure }))
}

fn channel_number(items: Items<'_>) -> Parsed<'_, Located<u8>> {
    integer(1, MAX_CHANNEL).map(|number| Located::new(number.value as u8, number.span)).parse(items)
}

/// `value = term {("+" | "-") term}`
pub(super) fn value(items: Items<'_>) -> Parsed<'_, Value> {
    let plus = sign(Kind::Plus, "`+`").map(|()| ValueKind::Add as Join);
    let minus = sign(Kind::Minus, "`-`").map(|()| ValueKind::Subtract as Join);
    fold(PARTS, alt((plus, minus)), term, |first| first, put_together).parse(items)
}

/// `term = factor {"*" factor}`
fn term(items: Items<'_>) -> Parsed<'_, Value> {
    let star = sign(Kind::Star, "`*`").map(|()| ValueKind::Multiply as Join);
    fold(PARTS, star, factor, |first| first, put_together).parse(items)
}

type Join = fn(Box<Value>, Box<Value>) -> ValueKind;

fn put_together(left: Value, join: Join, right: Value) -> Value {
    Value { span: left.span.to(right.span), kind: join(Box::new(left), Box::new(right)) }
}

/// `factor = number "%" | "-" factor | "(" value ")" | "unshaped" stick | "channel" integer | call | control`
fn factor(items: Items<'_>) -> Parsed<'_, Value> {
    part(alt((
        number(Dimension::Percent).map(|number| ValueKind::Percent(number.value)),
        preceded(sign(Kind::Minus, "`-`"), cut(factor)).map(|inner| ValueKind::Negate(Box::new(inner))),
        in_brackets(value).map(|inner| inner.kind),
        preceded(word("unshaped"), cut(name("a stick"))).map(ValueKind::Unshaped),
        preceded(word("channel"), cut(channel_number)).map(ValueKind::Channel),
        call_or_control,
    )))
    .map(|Located { value, span }| Value { span, kind: value })
    .parse(items)
}

/// `control | curve-name "(" value ")" | ("min" | "max") "(" value "," value ")"`
fn call_or_control(items: Items<'_>) -> Parsed<'_, ValueKind> {
    if items.peek_word() == Some(b"when") {
        return Err(items.other(Expected::Words("a value")));
    }
    let (rest, name) = name("a value: a control, a number of %, or `channel` and its number")(items)?;
    let second = || preceded(sign(Kind::Comma, "`,` and the second value"), value);
    match name.value.as_str() {
        "min" | "max" => {
            let (rest, both) = opt(in_brackets((value, second()))).parse(rest)?;
            let join = if name.value == "min" { ValueKind::Min } else { ValueKind::Max };
            Ok((
                rest,
                match both {
                    Some((first, second)) => join(Box::new(first), Box::new(second)),
                    None => ValueKind::Control(name.value),
                },
            ))
        }
        _ => {
            let (rest, inner) = opt(in_brackets(value)).parse(rest)?;
            Ok((
                rest,
                match inner {
                    Some(inner) => ValueKind::Curve(name, Box::new(inner)),
                    None => ValueKind::Control(name.value),
                },
            ))
        }
    }
}
