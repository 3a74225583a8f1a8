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

/// `value = term {("+" | "-") term}`. In `roll +5 %` the sign of the number is the one between the two.
pub(super) fn value(items: Items<'_>) -> Parsed<'_, Value> {
    let plus = alt((sign(Kind::Plus, "`+`"), own_plus)).map(|()| ValueKind::Add as Join);
    let minus = sign(Kind::Minus, "`-`").map(|()| ValueKind::Subtract as Join);
    fold(PARTS, alt((plus, minus)), term, |first| first, put_together).parse(items)
}

/// The `+` of a number that stands behind a term: it is taken with the number.
fn own_plus(items: Items<'_>) -> Parsed<'_, ()> {
    if items.is_plus_number() { Ok((items, ())) } else { Err(items.other(Expected::Words("`+`"))) }
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::items::{MAX_DEPTH, MAX_TERMS};
    use crate::fleet::miss::MissKind;
    use crate::syntax::{Known, Tables, parse};

    /// What a parser makes of the items of a text, and the items it leaves; or which item is a miss, and why.
    fn read<T>(text: &str, parser: fn(Items<'_>) -> Parsed<'_, T>) -> Result<(T, String), (usize, String)> {
        let text = format!("x {text}");
        let mut tables = Tables::default();
        parse(text.as_bytes(), |_, _, _| Known::No, &mut tables);
        let mut items = Items::new(text.as_bytes(), tables.items(&tables.statements[0]), 1);
        match items.take(parser) {
            Ok(found) => Ok((found, text[items.span_at(items.at()).start as usize..].to_owned())),
            Err(miss) => Err((
                miss.at,
                match miss.kind {
                    MissKind::Expected(expected) => format!("expected {expected}"),
                    MissKind::Unit(dimension) => format!("unit of {dimension:?}"),
                    MissKind::Range(allowed) => format!("range: {allowed}"),
                    MissKind::TooLarge(what, limit) => format!("more than {limit} {what}"),
                },
            )),
        }
    }

    #[test]
    fn conditions_are_read_as_they_are_written() {
        for text in [
            "left up",
            "\"left rear\" becomes down",
            "throttle below -95 %",
            "rotary 3",
            "ready",
            "mode \"fly home\"",
            "channel 5 above 1200 us",
            "channel 5 between -10..10 %",
            "not not ready",
            "held 60 s trigger pressed",
            "a up and b up and c up",
            "a up and b up or not c up and d up",
            "(a up or b up) and c up",
            "not (a up or b up)",
        ] {
            let (condition, rest) = read(text, condition).unwrap();
            assert_eq!((condition.to_string().as_str(), rest.as_str()), (text, ""));
            assert_eq!(condition.span.start, 2, "{text}");
            assert_eq!(condition.span.end as usize, 2 + text.len(), "{text}");
        }
    }

    #[test]
    fn conditions_end_where_no_part_can_follow() {
        for (text, shown, left) in [
            ("ready gives roll", "ready", "gives roll"),
            ("a up reset b up", "a up", "reset b up"),
            ("ready, other", "ready", ", other"),
            ("ready) and x", "ready", ") and x"),
        ] {
            let (condition, rest) = read(text, condition).unwrap();
            assert_eq!((condition.to_string().as_str(), rest.as_str()), (shown, left));
        }
    }

    #[test]
    fn a_miss_of_a_condition_is_told_at_its_item() {
        let deep = "(".repeat(MAX_DEPTH + 1) + "a";
        let nots = "not ".repeat(MAX_DEPTH);
        let long = vec!["a"; MAX_TERMS + 1].join(" or ");
        let name = "expected a condition, such as a control and its position";
        let too_deep = format!("more than {MAX_DEPTH} parts inside each other");
        let too_long = format!("more than {MAX_TERMS} parts in one condition or value");
        for (text, at, message) in [
            ("", 0, name),
            ("5", 0, name),
            ("and x", 0, "expected a condition"),
            ("a up and", 3, name),
            ("a up or or", 3, "expected a condition"),
            ("not", 1, name),
            ("(a up", 3, "expected `)`"),
            ("(a up or b up x", 6, "expected `)`"),
            ("a becomes", 2, "expected a position"),
            ("a becomes )", 2, "expected a position"),
            ("a above x", 2, "expected a number of %"),
            ("a above 5", 2, "unit of Percent"),
            ("a above 5 us", 3, "unit of Percent"),
            ("mode 7", 1, "expected a mode's name"),
            ("held x up", 1, "expected a number of s, us, ms or min"),
            ("held 2 s", 3, name),
            ("channel x above 5 us", 1, "expected a whole number"),
            ("channel 65 above 5 us", 1, "range: a whole number from 1 to 64"),
            ("channel 5 over 5 us", 2, "expected `above`, `below` or `between`"),
            ("channel 5 above 5", 3, "unit of Pulse"),
            ("channel 5 between 5 us", 3, "expected a range of us or ms, such as 1..2 us"),
            ("channel 5 between 9..5 us", 3, "range: a range that rises"),
            (&deep, MAX_DEPTH, too_deep.as_str()),
            (&nots, MAX_DEPTH, too_deep.as_str()),
            (&long, 2 * MAX_TERMS, too_long.as_str()),
        ] {
            let miss = read(text, condition).map(|(condition, _)| condition.to_string()).unwrap_err();
            assert_eq!((miss.0, miss.1.as_str()), (at, message), "{text}");
        }
        assert!(read(&long[5..], condition).is_ok() && read(&nots[4..], condition).is_err());
        assert!(read(&format!("{} a", &nots[4..]), condition).is_ok());
    }

    #[test]
    fn values_are_read_as_they_are_written() {
        for text in [
            "roll",
            "-100 %",
            "unshaped yaw",
            "channel 3",
            "roll + pitch - 5 %",
            "roll * 60 % - crow",
            "(roll + pitch) * 50 %",
            "soft(roll * 50 %)",
            "\"my curve\"(roll)",
            "min(a, -(b))",
            "max(min(a, b), soft(c) + 1 %)",
            "-(roll - pitch)",
            "min",
        ] {
            let (value, rest) = read(text, value).unwrap();
            assert_eq!((value.to_string().as_str(), rest.as_str()), (text, ""));
            assert_eq!((value.span.start, value.span.end as usize), (2, 2 + text.len()), "{text}");
        }
        // A number with a sign of its own is added where nothing else stands between.
        for (text, wanted) in [
            ("+5 %", "5 %"),
            ("roll +5 %", "roll + 5 %"),
            ("roll+5 %", "roll + 5 %"),
            ("+5 % + roll * +50 %", "5 % + roll * 50 %"),
            ("roll +5 % * pitch - yaw", "roll + 5 % * pitch - yaw"),
            ("min(+5 %, roll) +5 %", "min(5 %, roll) + 5 %"),
        ] {
            let (value, rest) = read(text, value).unwrap();
            assert_eq!((value.to_string().as_str(), rest.as_str()), (wanted, ""), "{text}");
        }
        let (condition, rest) = read("channel 5 between -10..+10 % and roll above +5 %", condition).unwrap();
        assert_eq!(
            (condition.to_string().as_str(), rest.as_str()),
            ("channel 5 between -10..10 % and roll above 5 %", "")
        );
        // From the left: a - b - c is (a - b) - c.
        let (value, rest) = read("a - b - c when ready", value).unwrap();
        assert!(matches!(value.kind, ValueKind::Subtract(left, _) if matches!(left.kind, ValueKind::Subtract(..))));
        assert_eq!(rest, "when ready");
    }

    #[test]
    fn a_miss_of_a_value_is_told_at_its_item() {
        let name = "expected a value: a control, a number of %, or `channel` and its number";
        let deep = "(".repeat(MAX_DEPTH + 1) + "a";
        let long = vec!["a"; MAX_TERMS + 1].join(" + ");
        let too_deep = format!("more than {MAX_DEPTH} parts inside each other");
        let too_long = format!("more than {MAX_TERMS} parts in one condition or value");
        for (text, at, message) in [
            ("", 0, name),
            ("when ready", 0, "expected a value"),
            ("roll +", 2, name),
            ("roll + when", 2, "expected a value"),
            ("* roll", 0, name),
            ("5", 0, "unit of Percent"),
            ("roll * 5 us", 3, "unit of Percent"),
            ("(roll", 2, "expected `)`"),
            ("soft(roll", 3, "expected `)`"),
            ("soft(", 2, name),
            ("min(a)", 3, "expected `,` and the second value"),
            ("min(a, b, c)", 5, "expected `)`"),
            ("unshaped 5", 1, "expected a stick"),
            ("channel 0", 1, "range: a whole number from 1 to 64"),
            ("- ", 1, name),
            (&deep, MAX_DEPTH, too_deep.as_str()),
            (&long, 2 * MAX_TERMS, too_long.as_str()),
        ] {
            let miss = read(text, value).map(|(value, _)| value.to_string()).unwrap_err();
            assert_eq!((miss.0, miss.1.as_str()), (at, message), "{text}");
        }
    }
}
