//! The grammar of conditions and values.

use super::condition::{Condition, ConditionKind, Measure, Test, Value, ValueKind};
use super::items::Items;
use super::miss::{Miss, MissKind, Read};
use super::number::Dimension;
use crate::source::{Located, Span};
use crate::syntax::{Kind, Token, Unit};

/// Words that end a condition or stand between its parts, and so are no names in it.
const BETWEEN: &[&[u8]] =
    &[b"and", b"or", b"reset", b"gives", b"when", b"while", b"above", b"below", b"becomes", b"between"];

/// The highest channel number that can be written.
pub const MAX_CHANNEL: i64 = 64;

/// `or`: the whole condition.
pub(super) fn condition(items: &mut Items<'_>) -> Read<Condition> {
    joined(items, "or", ConditionKind::Any, |items| joined(items, "and", ConditionKind::All, negated))
}

fn joined(
    items: &mut Items<'_>,
    word: &str,
    join: fn(Vec<Condition>) -> ConditionKind,
    part: impl Fn(&mut Items<'_>) -> Read<Condition>,
) -> Read<Condition> {
    let first = part(items)?;
    if items.peek_word() != Some(word.as_bytes()) {
        return Ok(first);
    }
    let mut parts = vec![first];
    while items.word(word) {
        parts.push(part(items)?);
    }
    let span = parts.iter().fold(Span::new(u32::MAX, 0), |span, part| span.to(part.span));
    Ok(Condition { span, kind: join(parts) })
}

fn negated(items: &mut Items<'_>) -> Read<Condition> {
    let from = items.at();
    items.count_term()?;
    items.deeper()?;
    let kind = if items.word("not") {
        ConditionKind::Not(Box::new(negated(items)?))
    } else if items.word("held") {
        let time = items.duration()?;
        ConditionKind::Held(time.value, Box::new(negated(items)?))
    } else if items.sign(Kind::Open) {
        let inner = condition(items)?;
        if !items.sign(Kind::Close) {
            return items.miss("`)`");
        }
        inner.kind
    } else {
        atom(items)?
    };
    items.shallower();
    Ok(Condition { span: items.since(from), kind })
}

fn atom(items: &mut Items<'_>) -> Read<ConditionKind> {
    if items.peek_word().is_some_and(|word| BETWEEN.contains(&word)) {
        return items.miss("a condition");
    }
    if items.word("channel") {
        return channel_test(items);
    }
    if items.word("mode") {
        return Ok(ConditionKind::Mode(items.name("a mode's name")?));
    }
    let name = items.name("a condition, such as a control and its position")?;
    match items.peek() {
        Some(token) if token.kind == Kind::Word => match token.of(items.bytes) {
            b"becomes" => {
                items.skip();
                let position = items.position()?;
                Ok(ConditionKind::Position { control: name, position, becomes: true })
            }
            word @ (b"above" | b"below") => {
                items.skip();
                let threshold = items.number(Dimension::Percent)?.value;
                Ok(ConditionKind::Axis { axis: name, above: word == b"above", threshold })
            }
            word if BETWEEN.contains(&word) => Ok(ConditionKind::Named(name)),
            _ => Ok(ConditionKind::Position { control: name, position: items.position()?, becomes: false }),
        },
        Some(token) if matches!(token.kind, Kind::Text | Kind::Number) => {
            Ok(ConditionKind::Position { control: name, position: items.position()?, becomes: false })
        }
        _ => Ok(ConditionKind::Named(name)),
    }
}

fn channel_test(items: &mut Items<'_>) -> Read<ConditionKind> {
    let channel = channel_number(items)?;
    let start = items.at();
    let measure = |items: &Items<'_>, number_at: usize| {
        let unit = {
            let mut ahead = *items;
            while ahead.at() <= number_at {
                ahead.skip();
            }
            ahead.peek()
        };
        match unit {
            Some(Token { kind: Kind::Unit(Unit::Percent), .. }) => (Measure::Percent, Dimension::Percent),
            _ => (Measure::Pulse, Dimension::Pulse),
        }
    };
    let (measure, dimension) = measure(items, start + 1);
    let fault = |miss: Miss| match miss.kind {
        // Both percent and pulses are accepted here; the message lists the units of the pulse and names percent.
        MissKind::Unit(_) => Miss { at: miss.at, kind: MissKind::Unit(Dimension::Pulse) },
        _ => miss,
    };
    let test = if items.word("above") {
        Test::Above(items.number(dimension).map_err(fault)?.value)
    } else if items.word("below") {
        Test::Below(items.number(dimension).map_err(fault)?.value)
    } else if items.word("between") {
        let ends = items.range(dimension).map_err(fault)?.value;
        Test::Between(ends.0, ends.1)
    } else {
        return items.miss("`above`, `below` or `between`");
    };
    Ok(ConditionKind::Channel { channel, test, measure })
}

fn channel_number(items: &mut Items<'_>) -> Read<Located<u8>> {
    let number = items.integer(1, MAX_CHANNEL)?;
    Ok(Located::new(number.value as u8, number.span))
}

/// A whole value.
pub(super) fn value(items: &mut Items<'_>) -> Read<Value> {
    let mut left = product(items)?;
    loop {
        let join = if items.sign(Kind::Plus) {
            ValueKind::Add
        } else if items.sign(Kind::Minus) {
            ValueKind::Subtract
        } else {
            return Ok(left);
        };
        let right = product(items)?;
        left = Value { span: left.span.to(right.span), kind: join(Box::new(left), Box::new(right)) };
    }
}

fn product(items: &mut Items<'_>) -> Read<Value> {
    let mut left = factor(items)?;
    while items.sign(Kind::Star) {
        let right = factor(items)?;
        left = Value { span: left.span.to(right.span), kind: ValueKind::Multiply(Box::new(left), Box::new(right)) };
    }
    Ok(left)
}

fn factor(items: &mut Items<'_>) -> Read<Value> {
    let from = items.at();
    items.count_term()?;
    items.deeper()?;
    let kind = factor_kind(items)?;
    items.shallower();
    Ok(Value { span: items.since(from), kind })
}

fn factor_kind(items: &mut Items<'_>) -> Read<ValueKind> {
    if items.peek().is_some_and(|token| token.kind == Kind::Number) {
        return Ok(ValueKind::Percent(items.number(Dimension::Percent)?.value));
    }
    if items.sign(Kind::Minus) {
        return Ok(ValueKind::Negate(Box::new(factor(items)?)));
    }
    if items.sign(Kind::Open) {
        let inner = value(items)?;
        return closed(items, inner.kind);
    }
    if items.word("unshaped") {
        return Ok(ValueKind::Unshaped(items.name("a stick")?));
    }
    if items.word("channel") {
        return Ok(ValueKind::Channel(channel_number(items)?));
    }
    let mut ahead = *items;
    let name = ahead.name("a value: a control, a number of %, or `channel` and its number")?;
    if name.value == "when" && ahead.at() == items.at() + 1 && items.peek_word() == Some(b"when") {
        return items.miss("a value");
    }
    *items = ahead;
    if !items.sign(Kind::Open) {
        return Ok(ValueKind::Control(name.value));
    }
    let first = Box::new(value(items)?);
    let kind = match name.value.as_str() {
        "min" | "max" => {
            if !items.sign(Kind::Comma) {
                return items.miss("`,` and the second value");
            }
            let second = Box::new(value(items)?);
            if name.value == "min" { ValueKind::Min(first, second) } else { ValueKind::Max(first, second) }
        }
        _ => ValueKind::Curve(name, first),
    };
    closed(items, kind)
}

fn closed(items: &mut Items<'_>, kind: ValueKind) -> Read<ValueKind> {
    if items.sign(Kind::Close) { Ok(kind) } else { items.miss("`)`") }
}
