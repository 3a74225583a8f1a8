//! Conditions and values as they are written in a rig file.

use super::condition::{Condition, ConditionKind, Measure, Test, Value, ValueKind};
use super::quoted;
use std::fmt;

/// How tightly a part binds; a looser one stands in parentheses inside a tighter one.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Bind {
    Loose,
    Middle,
    Tight,
}

impl fmt::Display for Condition {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        condition(self, Bind::Loose, f)
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        value(self, Bind::Loose, f)
    }
}

fn position(name: &str) -> String {
    if name.bytes().all(|byte| byte.is_ascii_digit()) && !name.is_empty() { name.to_owned() } else { quoted(name) }
}

fn parenthesised<T: ?Sized>(
    within: Bind,
    own: Bind,
    part: &T,
    f: &mut fmt::Formatter<'_>,
    write: impl Fn(&T, &mut fmt::Formatter<'_>) -> fmt::Result,
) -> fmt::Result {
    if own >= within {
        return write(part, f);
    }
    f.write_str("(")?;
    write(part, f)?;
    f.write_str(")")
}

fn condition(part: &Condition, within: Bind, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let list = |parts: &[Condition], word: &str, bind: Bind, f: &mut fmt::Formatter<'_>| {
        for (at, part) in parts.iter().enumerate() {
            if at > 0 {
                write!(f, " {word} ")?;
            }
            condition(part, bind, f)?;
        }
        Ok(())
    };
    match &part.kind {
        ConditionKind::Any(parts) => {
            parenthesised(within, Bind::Loose, parts.as_slice(), f, |parts, f| list(parts, "or", Bind::Middle, f))
        }
        ConditionKind::All(parts) => {
            parenthesised(within, Bind::Middle, parts.as_slice(), f, |parts, f| list(parts, "and", Bind::Tight, f))
        }
        ConditionKind::Not(of) => {
            f.write_str("not ")?;
            condition(of, Bind::Tight, f)
        }
        ConditionKind::Held(time, of) => {
            write!(f, "held {time} s ")?;
            condition(of, Bind::Tight, f)
        }
        ConditionKind::Position { control, position: at, becomes } => {
            let word = if *becomes { "becomes " } else { "" };
            write!(f, "{} {word}{}", quoted(&control.value), position(&at.value))
        }
        ConditionKind::Axis { axis, above, threshold } => {
            write!(f, "{} {} {threshold} %", quoted(&axis.value), if *above { "above" } else { "below" })
        }
        ConditionKind::Channel { channel, test, measure } => {
            let unit = match measure {
                Measure::Percent => "%",
                Measure::Pulse => "us",
            };
            let channel = channel.value;
            match test {
                Test::Above(at) => write!(f, "channel {channel} above {at} {unit}"),
                Test::Below(at) => write!(f, "channel {channel} below {at} {unit}"),
                Test::Between(low, high) => write!(f, "channel {channel} between {low}..{high} {unit}"),
            }
        }
        ConditionKind::Mode(name) => write!(f, "mode {}", quoted(&name.value)),
        ConditionKind::Named(name) => f.write_str(&quoted(&name.value)),
    }
}

fn value(part: &Value, within: Bind, f: &mut fmt::Formatter<'_>) -> fmt::Result {
    let pair = |a: &Value, sign: &str, b: &Value, right: Bind, f: &mut fmt::Formatter<'_>, left: Bind| {
        value(a, left, f)?;
        write!(f, " {sign} ")?;
        value(b, right, f)
    };
    match &part.kind {
        ValueKind::Percent(percent) => write!(f, "{percent} %"),
        ValueKind::Control(name) => f.write_str(&quoted(name)),
        ValueKind::Unshaped(name) => write!(f, "unshaped {}", quoted(&name.value)),
        ValueKind::Channel(channel) => write!(f, "channel {}", channel.value),
        ValueKind::Curve(name, of) => write!(f, "{}({of})", quoted(&name.value)),
        ValueKind::Min(a, b) => write!(f, "min({a}, {b})"),
        ValueKind::Max(a, b) => write!(f, "max({a}, {b})"),
        ValueKind::Add(a, b) => {
            parenthesised(within, Bind::Loose, part, f, |_, f| pair(a, "+", b, Bind::Middle, f, Bind::Loose))
        }
        ValueKind::Subtract(a, b) => {
            parenthesised(within, Bind::Loose, part, f, |_, f| pair(a, "-", b, Bind::Middle, f, Bind::Loose))
        }
        ValueKind::Multiply(a, b) => {
            parenthesised(within, Bind::Middle, part, f, |_, f| pair(a, "*", b, Bind::Tight, f, Bind::Middle))
        }
        ValueKind::Negate(of) => {
            f.write_str("-(")?;
            value(of, Bind::Loose, f)?;
            f.write_str(")")
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::fleet::{read, table};
    use crate::source::FileId;
    use crate::syntax::{Tables, parse};

    #[test]
    fn what_is_written_reads_the_same() {
        let values = [
            "(roll + pitch) * 50 % - 3 %",
            "-(roll)",
            "max(min(roll, yaw), -100 %)",
            "bent(unshaped roll) * 50 % * 50 %",
        ];
        let conditions = [
            "(left up or right 2) and not mode arm",
            "held 2 s (throttle below -95 % and channel 7 between 1660..2140 us)",
            "left becomes down or ready and throttle low",
        ];
        for (value, when) in values.iter().zip(conditions.iter().cycle()) {
            let text =
                format!("rig 1\nmodel a {{\n  handset b\n  channel 1 {{\n    value {value} when {when}\n  }}\n}}\n");
            let mut tables = Tables::default();
            parse(text.as_bytes(), table::vocabulary, &mut tables);
            let found = read(FileId(0), text.as_bytes(), &tables);
            assert_eq!(found.problems, []);
            let line = &found.models[0].channels[0].lines[0];
            assert_eq!(format!("{} when {}", line.value, line.when.as_ref().unwrap()), format!("{value} when {when}"));
        }
    }
}
