//! What may be typed next: words from the table of statements, and the names of what is defined.
//!
//! What could come is made from the shapes of the table; what is offered is what the reader then understands. Each offer is put
//! into the text in a [`Trial`], so that none is a fault when it is taken.

mod context;
mod shape;
mod trial;

pub(super) use trial::Trial;

use super::names::Kept;
use super::text::Text;
use crate::fleet::fits::fits;
use crate::fleet::table::{self, Block, Ready};
use crate::inspect::Workspace;
use crate::source::{FileId, Span};
use crate::syntax::{Kind, Token, Unit};
use context::Context;
use gen_lsp_types::CompletionItemKind;
use rustc_hash::FxHashSet;
use shape::{Bit, Piece, ends, filled, needed, pieces, snippet};

/// Something that may be typed.
#[derive(Debug)]
pub(super) struct Offer {
    /// What the list shows.
    pub(super) label: String,
    /// The text without holes.
    pub(super) text: String,
    /// The text as a snippet; the same where it has no holes.
    pub(super) snippet: String,
    /// A few words beside it.
    pub(super) detail: String,
    pub(super) kind: CompletionItemKind,
}

/// What could be offered, before it is tried.
struct Draft {
    label: String,
    bits: Vec<Bit>,
    detail: String,
    kind: CompletionItemKind,
}

/// No more is offered at one place.
const MOST: usize = 400;

/// What may be typed at a byte, and the bytes that it takes the place of.
pub(super) fn offers(
    workspace: &Workspace,
    trial: &mut Trial,
    kept: &mut Kept,
    file: FileId,
    text: &Text<'_>,
    byte: u32,
) -> (Span, Vec<Offer>) {
    let none = Span::new(byte, byte);
    if text.comment_at(byte).is_some() {
        return (none, Vec::new());
    }
    let token = text.token_at(byte).filter(|token| {
        matches!(token.kind, Kind::Word | Kind::Text | Kind::Unit(_) | Kind::Bad) && token.start < byte
    });
    let replaced = token.map_or(none, |token| token.span());
    // The `%` of `5 %` ends what stands before it.
    let replaced = if text.str(replaced) == "%" { none } else { replaced };
    let tokens = &text.tables.tokens;
    let ahead = tokens.partition_point(|token| token.start < replaced.start);
    let before = ahead.checked_sub(1).and_then(|at| tokens.get(at));
    let begins = before.is_none_or(|token| {
        matches!(token.kind, Kind::EndOfLine | Kind::BlockOpen | Kind::BlockClose | Kind::Semicolon)
    });
    let indent = {
        let line = text.bytes.get(..replaced.start as usize).unwrap_or_default();
        let start = memchr::memrchr(b'\n', line).map_or(0, |at| at + 1);
        let line = line.get(start..).unwrap_or_default();
        line.iter().take_while(|byte| matches!(byte, b' ' | b'\t')).map(|byte| char::from(*byte)).collect::<String>()
    };
    let context = Context::at(workspace, text, replaced.start, indent);
    let (drafts, frame) = match begins {
        true => (statements(&context), None),
        false => match statement_before(text, replaced.start) {
            Some((_, ready)) if is_new_name(ready, text, before) => return (replaced, Vec::new()),
            Some((index, ready)) => {
                (items(&context, ready, before.map(|token| text.str(token.span()))), frame(text, index, replaced))
            }
            None => return (replaced, Vec::new()),
        },
    };
    let mut seen = FxHashSet::default();
    let mut drafts: Vec<(Draft, String)> =
        drafts.into_iter().map(|draft| (filled(&draft.bits), draft)).map(|(text, draft)| (draft, text)).collect();
    drafts.retain(|(_, written)| !written.is_empty() && seen.insert(written.clone()));
    if let Some((block, front, back)) = &frame {
        drafts.retain(|(_, written)| fits(*block, &format!("{front}{written}{back}")));
    }
    trial.begin(workspace, kept, file, text, replaced);
    // Of several ways to write one thing the first that is understood is offered.
    let mut shown = FxHashSet::default();
    let accepted = drafts.into_iter().filter(|(draft, written)| {
        !shown.contains(&draft.label) && trial.accepts(replaced, written) && shown.insert(draft.label.clone())
    });
    let offers = accepted.take(MOST).map(|(draft, written)| Offer {
        label: draft.label,
        snippet: snippet(&draft.bits),
        text: written,
        detail: draft.detail,
        kind: draft.kind,
    });
    let offers: Vec<Offer> = offers.collect();
    trial.end();
    (replaced, offers)
}

/// Whether a name stands here that the statement gives to something: only the pilot knows it.
fn is_new_name(ready: &Ready, text: &Text<'_>, before: Option<&Token>) -> bool {
    let entry = ready.entry;
    let names = |shape: &&str| {
        shape.starts_with("<name:")
            || shape.starts_with("[<name:")
            || (entry.block == Block::Handset && shape.starts_with("<bay:"))
    };
    entry.shapes.iter().all(|shape| names(&shape)) && before.is_some_and(|before| text.str(before.span()) == entry.word)
}

/// The statement that a byte stands in behind its word, with its declaration.
fn statement_before(text: &Text<'_>, byte: u32) -> Option<(u32, &'static Ready)> {
    let begun = text.tables.statements.partition_point(|one| text.tables.word(one).start < byte);
    let index = begun.checked_sub(1)? as u32;
    Some((index, text.ready(index)?))
}

/// The words of a statement before and behind what is typed, with its block, so that it can be read with them.
fn frame(text: &Text<'_>, index: u32, replaced: Span) -> Option<(Block, String, String)> {
    let statement = text.statement(index)?;
    let word = text.tables.word(statement);
    let items = text.tables.items(statement);
    let front = text.str(Span::new(word.start, replaced.start));
    let behind = items.iter().filter(|item| item.start >= replaced.end);
    let back =
        behind.clone().next().zip(behind.last()).map_or("", |(first, last)| text.str(first.span().to(last.span())));
    let open = text.tables.tokens.get(statement.items_end as usize).filter(|_| statement.has_body);
    let body = open.map_or("", |open| text.str(Span::new(open.start, text.tables.whole(index).end)));
    Some((text.block_of(index)?, front.to_owned(), format!(" {back} {body}")))
}

/// Statements that may begin here.
fn statements(context: &Context<'_>) -> Vec<Draft> {
    let Some(block) = context.block else { return Vec::new() };
    let mut drafts = Vec::new();
    // The version comes first, and nothing before it.
    let has_version = block != Block::Top || context.states("rig");
    for ready in table::block(block) {
        let entry = ready.entry;
        if entry.word == table::WITHOUT || (!has_version && entry.word != "rig") {
            continue;
        }
        let word_alone = Draft {
            label: entry.word.to_owned(),
            bits: vec![Bit::text(entry.word)],
            detail: entry.help.to_owned(),
            kind: CompletionItemKind::Keyword,
        };
        for shape in entry.shapes {
            let whole = needed(&pieces(shape));
            let kind = match whole.contains(&Piece::Body) {
                true => CompletionItemKind::Struct,
                false => CompletionItemKind::Keyword,
            };
            for bits in context.written(ready, &whole) {
                let bits = match bits.is_empty() {
                    true => vec![Bit::text(entry.word)],
                    false => [vec![Bit::text(format!("{} ", entry.word))], bits].concat(),
                };
                let label = format!("{} {}", entry.word, table::plain(shape).replace(" {", " { … }"));
                drafts.push(Draft {
                    label: label.trim_end().replace("  ", " "),
                    bits,
                    detail: entry.help.to_owned(),
                    kind,
                });
            }
        }
        // Where the rest of the line is there already.
        drafts.push(word_alone);
    }
    drafts
}

/// What may follow within a statement.
fn items(context: &Context<'_>, ready: &'static Ready, before: Option<&str>) -> Vec<Draft> {
    let mut drafts: Vec<Draft> = Vec::new();
    let mut add = |bits: Vec<Bit>, kind| {
        let label = filled(&bits);
        drafts.push(Draft { label, bits, detail: String::new(), kind });
    };
    for shape in ready.entry.shapes {
        for end in ends(&pieces(shape)) {
            let (Some(first), rest) = (end.first(), end.get(1..).unwrap_or_default()) else { continue };
            let rests = match rest.is_empty() {
                true => vec![Vec::new()],
                false => context.written(ready, rest),
            };
            for rest in rests.into_iter().take(1) {
                for (bits, kind) in context.first(ready, first) {
                    add(joined(&bits, &rest), kind);
                }
            }
        }
    }
    if before.is_some_and(|before| shape::is_number(before) || before.contains("..")) {
        Unit::ALL.iter().for_each(|unit| add(vec![Bit::text(unit.text())], CompletionItemKind::Unit));
    }
    drafts
}

/// Two texts with a space between them.
fn joined(front: &[Bit], back: &[Bit]) -> Vec<Bit> {
    match back.is_empty() {
        true => front.to_vec(),
        false => [front, &[Bit::text(" ")], back].concat(),
    }
}
