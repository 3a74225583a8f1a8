//! What each word of a text is, for an editor that colours by meaning.

use super::text::Text;
use crate::fleet::occurs::{Named, Role};
use crate::source::Span;
use crate::syntax::Kind;

/// The kinds, by number, as the protocol names them.
pub(super) const KINDS: [&str; 11] = [
    "comment",
    "keyword",
    "class",
    "variable",
    "function",
    "event",
    "enumMember",
    "number",
    "string",
    "operator",
    "property",
];

/// What may be said of a kind beside it.
pub(super) const SAID: [&str; 1] = ["definition"];

/// A word with the number of its kind, and whether it gets its meaning there.
pub(super) type Coloured = (Span, u32, bool);

const COMMENT: u32 = 0;
const KEYWORD: u32 = 1;
const BLOCK: u32 = 2;
const VARIABLE: u32 = 3;
const FUNCTION: u32 = 4;
const EVENT: u32 = 5;
const WORD: u32 = 6;
const NUMBER: u32 = 7;
const STRING: u32 = 8;
const OPERATOR: u32 = 9;
const CONDITION: u32 = 10;

/// The words of a text in their order; none lies in another.
pub(super) fn coloured(text: &Text<'_>) -> Vec<Coloured> {
    let names = text.occurrences();
    let words: Vec<u32> = text.tables.statements.iter().map(|statement| text.tables.word(statement).start).collect();
    let mut found: Vec<Coloured> = text.tables.comments.iter().map(|comment| (comment.span, COMMENT, false)).collect();
    for token in &text.tables.tokens {
        let named = names.binary_search_by_key(&token.start, |name| name.span.start).ok().and_then(|at| names.get(at));
        let (kind, is_definition) = match (token.kind, named) {
            (Kind::Word | Kind::Text, Some(name)) => (sign(name.named), name.role == Role::Defined),
            (Kind::Word, None) if words.binary_search(&token.start).is_ok() => (KEYWORD, false),
            (Kind::Word, None) => (WORD, false),
            (Kind::Text, None) => (STRING, false),
            (Kind::Number | Kind::Range | Kind::Day | Kind::Unit(_), _) => (NUMBER, false),
            (Kind::Equals | Kind::Plus | Kind::Minus | Kind::Star, _) => (OPERATOR, false),
            _ => continue,
        };
        found.push((token.span(), kind, is_definition));
    }
    found.sort_unstable();
    found
}

const fn sign(named: Named) -> u32 {
    match named {
        Named::Top(_) => BLOCK,
        Named::Control | Named::Bay | Named::InValue => VARIABLE,
        Named::Condition => CONDITION,
        Named::Curve | Named::Mix => FUNCTION,
        Named::Mode => EVENT,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_word_has_one_kind() {
        let source = "rig 1 # c\nmodel \"a b\" {\n  channel 1 = -50 % * left\n  condition up when left up\n}\n";
        let text = Text::of(source.as_bytes());
        let found = coloured(&text);
        assert!(found.windows(2).all(|two| two[0].0.end <= two[1].0.start));
        let shown: Vec<String> = found
            .iter()
            .map(|(span, kind, defined)| {
                format!("{} {}{}", text.str(*span), KINDS[*kind as usize], if *defined { " here" } else { "" })
            })
            .collect();
        let wanted = [
            "rig keyword",
            "1 number",
            "# c comment",
            "model keyword",
            "\"a b\" class here",
            "channel keyword",
            "1 number",
            "= operator",
            "-50 number",
            "% number",
            "* operator",
            "left variable",
            "condition keyword",
            "up property here",
            "when enumMember",
            "left variable",
            "up enumMember",
        ];
        assert_eq!(shown, wanted);
    }
}
