//! What stands in a text, as a tree: symbols, what can be folded, what can be selected.

use super::text::Text;
use crate::fleet::Fleet;
use crate::fleet::occurs::kind_of;
use crate::fleet::table::Block;
use crate::source::{Lines, Span};
use gen_lsp_types::SymbolKind;

/// A statement as a symbol.
#[derive(Debug)]
pub(super) struct Symbol {
    pub(super) name: String,
    pub(super) detail: String,
    pub(super) kind: SymbolKind,
    /// The whole statement.
    pub(super) whole: Span,
    /// The part that names it.
    pub(super) own: Span,
    pub(super) inside: Vec<Symbol>,
}

/// The sign of a kind of blocks at the top level.
pub(super) const fn sign(kind: u8) -> SymbolKind {
    match kind {
        Fleet::SITE => SymbolKind::Namespace,
        Fleet::LINK => SymbolKind::Interface,
        Fleet::HANDSET => SymbolKind::Module,
        Fleet::CRAFT => SymbolKind::Class,
        _ => SymbolKind::Object,
    }
}

/// The blocks of a text with what is defined in them.
pub(super) fn symbols(text: &Text<'_>) -> Vec<Symbol> {
    inside(text, None)
}

fn inside(text: &Text<'_>, parent: Option<u32>) -> Vec<Symbol> {
    text.tables.body(parent).filter_map(|index| symbol(text, index)).collect()
}

fn symbol(text: &Text<'_>, index: u32) -> Option<Symbol> {
    let statement = text.statement(index)?;
    let (block, word) = (text.block_of(index)?, text.str(text.tables.word(statement).span()));
    let kind = match (block, word) {
        (Block::Top, word) => sign(kind_of(word)?),
        (Block::Handset, "switch" | "button" | "knob" | "slider") => SymbolKind::Field,
        (Block::Model, "condition") => SymbolKind::Boolean,
        (Block::Model, "curve" | "mix" | "rates") => SymbolKind::Function,
        (Block::Model | Block::Surfaces, "channel") => SymbolKind::Property,
        (Block::Controller, "mode") => SymbolKind::Event,
        _ if statement.has_body => SymbolKind::Struct,
        _ => return None,
    };
    let items = text.tables.items(statement);
    let name = items.first().map_or("", |first| text.str(first.span()));
    let rest = items.get(1..).unwrap_or_default();
    let rest = rest.first().zip(rest.last()).map_or("", |(first, last)| text.str(first.span().to(last.span())));
    let own = match items.first() {
        Some(first) => first.span(),
        None => text.tables.word(statement).span(),
    };
    // A name in quotes is shown without them; where the word says what it is, it stands in front.
    let shown = name.strip_prefix('"').and_then(|name| name.strip_suffix('"')).unwrap_or(name);
    let (name, detail) = match block {
        Block::Top => (shown.to_owned(), format!("{word} {rest}")),
        _ => (format!("{word} {shown}"), rest.to_owned()),
    };
    Some(Symbol {
        name: name.trim_end().to_owned(),
        detail: detail.trim_end().to_owned(),
        kind,
        whole: text.tables.whole(index),
        own,
        inside: inside(text, Some(index)),
    })
}

/// What can be folded: blocks of several lines, and comments that stand on lines of their own one after the other. First and last
/// line, from 1, and whether it is a comment.
pub(super) fn folds(text: &Text<'_>) -> Vec<(u32, u32, bool)> {
    let lines = Lines::new(text.bytes);
    let line = |byte: u32| lines.position(byte).line;
    let mut found = Vec::new();
    for (index, statement) in (0..).zip(&text.tables.statements).filter(|(_, statement)| statement.has_body) {
        let whole = text.tables.whole(index);
        let (first, last) = (line(text.tables.header(statement).end), line(whole.end));
        // The line of the `}` stays.
        if last > first + 1 {
            found.push((first, last - 1, false));
        }
    }
    let own: Vec<u32> = text
        .tables
        .comments
        .iter()
        .filter(|comment| comment.own_line)
        .map(|comment| line(comment.span.start))
        .collect();
    for run in own.chunk_by(|above, below| above + 1 == *below) {
        if let [first, .., last] = run {
            found.push((*first, *last, true));
        }
    }
    found.sort_unstable();
    found
}

/// What can be selected around a byte, from the inside out: the word, the statement's words, the statement with its block, what
/// stands in the block around it, and so on to the whole text.
pub(super) fn selections(text: &Text<'_>, byte: u32) -> Vec<Span> {
    let mut found: Vec<Span> = Vec::new();
    let mut add = |span: Span| {
        let is_larger = found.last().is_none_or(|last| span.holds(*last) && span != *last);
        if span.start <= byte && byte <= span.end && is_larger {
            found.push(span);
        }
    };
    if let Some(token) = text.token_at(byte).filter(|token| token.start < token.end) {
        add(token.span());
    }
    if let Some(comment) = text.comment_at(byte) {
        add(comment.span);
    }
    let mut next = text.statement_at(byte);
    while let Some(index) = next {
        if let Some(statement) = text.statement(index) {
            let inner: Vec<u32> = text.tables.body(Some(index)).collect();
            if let (Some(first), Some(last)) = (inner.first(), inner.last()) {
                add(text.tables.whole(*first).to(text.tables.whole(*last)));
            }
            add(text.tables.header(statement));
            add(text.tables.whole(index));
        }
        next = text.parent(index);
    }
    add(Span::new(0, text.bytes.len() as u32));
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# one\n# two\nrig 1\ncraft \"a b\" like c {\n  receiver { link x }\n  controller {\n    # three\n    mode arm channel 7 1..2 us\n  }\n}\n";

    #[test]
    fn blocks_and_what_is_defined_in_them_are_symbols() {
        let text = Text::of(TEXT.as_bytes());
        let symbols = symbols(&text);
        assert_eq!(symbols.len(), 1);
        assert_eq!((symbols[0].name.as_str(), symbols[0].detail.as_str()), ("a b", "craft like c"));
        let names: Vec<&str> = symbols[0].inside.iter().map(|one| one.name.as_str()).collect();
        assert_eq!(names, ["receiver", "controller"]);
        assert_eq!(symbols[0].inside[1].inside[0].name, "mode arm");
        assert!(symbols[0].whole.holds(symbols[0].own));
    }

    #[test]
    fn blocks_and_runs_of_comments_fold() {
        assert_eq!(folds(&Text::of(TEXT.as_bytes())), [(1, 2, true), (4, 9, false), (6, 8, false)]);
    }

    #[test]
    fn selections_grow() {
        let text = Text::of(TEXT.as_bytes());
        let at = TEXT.find("channel").unwrap() as u32 + 2;
        let spans = selections(&text, at);
        let shown: Vec<&str> = spans.iter().map(|span| text.str(*span)).collect();
        assert_eq!(shown[..2], ["channel", "mode arm channel 7 1..2 us"]);
        assert_eq!(spans.last(), Some(&Span::new(0, TEXT.len() as u32)));
        assert!(spans.windows(2).all(|two| two[1].holds(two[0]) && two[0] != two[1]));
        assert_eq!(text.str(selections(&text, 2)[0]), "# one");
    }
}
