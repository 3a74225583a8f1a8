//! What stands alone in a question: a condition, a name in quotes.

use super::condition::Condition;
use super::items::{Items, unescaped};
use super::miss::{MissKind, units};
use super::trees;
use crate::syntax::{Tables, parse};
use compact_str::CompactString;

/// Reads a condition such as `mode arm and not left-front down`.
///
/// # Errors
/// What was expected, in words, and the byte of the text where it was.
pub fn read_condition(text: &str) -> Result<Condition, (String, usize)> {
    // The reader knows statements only: a word in front makes one of it.
    const FRONT: &str = "ask ";
    let whole = format!("{FRONT}{text}");
    let mut tables = Tables::default();
    parse(whole.as_bytes(), |_, _, _| crate::syntax::Known::No, &mut tables);
    let back = |at: u32| (at as usize).saturating_sub(FRONT.len());
    if let Some(problem) = tables.problems.first() {
        return Err(("this is no condition".to_owned(), back(problem.span.start)));
    }
    let [statement] = tables.statements.as_slice() else { return Err(("one condition on one line".to_owned(), 0)) };
    if statement.has_body {
        return Err(("a condition has no braces".to_owned(), 0));
    }
    let mut items = Items::new(whole.as_bytes(), tables.items(statement), FRONT.len() as u32);
    let found = items.take(trees::condition).and_then(|condition| match items.peek() {
        None => Ok(condition),
        Some(_) => items.miss("the end of the condition"),
    });
    found.map_err(|miss| {
        let words = match miss.kind {
            MissKind::Expected(words) => format!("expected {words}"),
            MissKind::Unit(dimension) => format!("write the number with its unit: {}", with_percent(&units(dimension))),
            MissKind::Range(words) => format!("expected {words}"),
            MissKind::TooLarge(what, limit) => format!("more than {limit} {what}"),
        };
        (words, back(items.span_at(miss.at).start))
    })
}

/// The name in quotes with which a text begins, with its escapes resolved as in a rig file, and what stands behind it.
pub fn read_quoted(text: &str) -> Option<(CompactString, &str)> {
    let inner = text.strip_prefix('"')?;
    let mut escaped = false;
    let end = inner.find(|letter| {
        let ends = letter == '"' && !escaped;
        escaped = letter == '\\' && !escaped;
        ends
    })?;
    let (name, rest) = inner.split_at_checked(end)?;
    Some((unescaped(name.as_bytes()), rest.strip_prefix('"')?))
}

/// Every limit of a condition may also be a share of the whole.
fn with_percent(units: &str) -> String {
    if units == "%" { units.to_owned() } else { format!("{units}, or %") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn conditions_stand_alone() {
        let condition = read_condition("mode arm and not (left-front down or channel 3 above 1100 us)").unwrap();
        assert_eq!(condition.to_string(), "mode arm and not (left-front down or channel 3 above 1100 us)");
        assert_eq!(read_condition("channel 3 above 1100").unwrap_err().1, 16);
        assert!(read_condition("mode").is_err());
        assert!(read_condition("left-front down {").is_err());
        assert!(read_condition("").is_err());
        assert!(read_condition("a up\nb down").is_err());
    }
}
