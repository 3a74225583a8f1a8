//! A change of a block that is spelled out, made in the block as it is written.

use super::Written;
use super::merge::{Key, Side, named_by};
use super::text::{Source, Spelt};
use crate::fleet::read::body_of;
use crate::fleet::table::{self, Block};
use crate::source::Span;
use crate::syntax::{Statement, Tables, parse_part};
use std::collections::BTreeMap;

/// A change in the block as it is written.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Here {
    /// The bytes that are replaced.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// What a block needs that is not stated in it as it is to be.
enum Need {
    /// These statements, which have one key.
    State(Vec<String>),
    /// That the statement with this key goes.
    Without(String),
}

/// The changes of a block as it is written after which it is spelled out as `new` instead of `old`; none where that can't be
/// done by stating more.
pub fn here(bytes: &[u8], written: &Written, old: &str, new: &str) -> Option<Vec<Here>> {
    let (mut own, mut before, mut after) = (Tables::default(), Tables::default(), Tables::default());
    parse_part(bytes, written.whole, table::vocabulary, &mut own);
    let (old, new) = (Spelt::made(old), Spelt::made(new));
    let old = side(&old, &mut before);
    let new = side(&new, &mut after);
    if !new.tables.problems.is_empty() {
        return None;
    }
    let own = Side { source: Source::Given(written.header.file, bytes, &[]), tables: &own };
    let mut changes = Changes { own, old, new, edits: Vec::new(), added: BTreeMap::new() };
    changes.level(written.block(), 0, 0, &mut vec![(Key::Free, String::new())])?;
    let Changes { mut edits, added, .. } = changes;
    edits.extend(added.into_iter().filter_map(|(block, statements)| {
        let (span, text) = body_of(bytes, own.tables, block)?.insertion(&statements);
        Some(Here { span, text })
    }));
    (!edits.is_empty()).then_some(edits)
}

fn side<'t>(spelt: &'t Spelt, tables: &'t mut Tables) -> Side<'t> {
    parse_part(spelt.text.as_bytes(), Span::new(0, spelt.text.len() as u32), table::vocabulary, tables);
    Side { source: Source::Spelt(spelt), tables }
}

/// The blocks between the one at the top level and a statement: what tells each apart, and its header.
type Path<'t> = Vec<(Key<'t>, String)>;

struct Changes<'t> {
    own: Side<'t>,
    old: Side<'t>,
    new: Side<'t>,
    edits: Vec<Here>,
    /// Statements that are added, by the block of the written text that they are added to.
    added: BTreeMap<u32, Vec<String>>,
}

impl<'t> Changes<'t> {
    /// Compares two blocks of one kind, statement by statement.
    fn level(&mut self, block: Block, old: u32, new: u32, path: &mut Path<'t>) -> Option<()> {
        let (old_side, new_side) = (self.old, self.new);
        let keyed = |side: Side<'t>, index: u32| -> Vec<(Key<'t>, u32)> {
            side.tables.body(Some(index)).map(|index| (side.key(block, index), index)).collect()
        };
        let (before, after) = (keyed(old_side, old), keyed(new_side, new));
        let of = |list: &[(Key<'t>, u32)], key: &Key<'t>| -> Vec<u32> {
            list.iter().filter(|(known, _)| known == key).map(|(_, index)| *index).collect()
        };
        let mut seen: Vec<Key<'t>> = Vec::new();
        for (key, index) in before.iter().chain(&after) {
            if seen.contains(key) {
                continue;
            }
            seen.push(key.clone());
            let (was, is) = (of(&before, key), of(&after, key));
            let texts = |side: Side<'t>, list: &[u32]| -> Vec<String> {
                list.iter().map(|&index| in_one_line(side, index)).collect()
            };
            let (was_text, is_text) = (texts(old_side, &was), texts(new_side, &is));
            if was_text == is_text {
                continue;
            }
            if *key == Key::Free {
                // Those that stay are there as they were; one that goes can't be named.
                if !was_text.iter().all(|text| is_text.contains(text)) {
                    return None;
                }
                let more: Vec<String> = is_text.into_iter().filter(|text| !was_text.contains(text)).collect();
                self.need(block, path, key, Need::State(more))?;
                continue;
            }
            if let (&[was], &[is]) = (was.as_slice(), is.as_slice())
                && let Some(opened) =
                    old_side.opens(block, was).filter(|opened| new_side.opens(block, is) == Some(*opened))
                && header(old_side, was) == header(new_side, is)
            {
                path.push((key.clone(), header(old_side, was)));
                self.level(opened, was, is, path)?;
                path.pop();
                continue;
            }
            if !was.is_empty() && is.iter().any(|&index| new_side.opens(block, index).is_some()) {
                // A block in its place would have the statements of the other block too.
                return None;
            }
            let need = match is_text.is_empty() {
                false => Need::State(is_text),
                true => Need::Without(named(old_side, block, *index)?),
            };
            self.need(block, path, key, need)?;
        }
        Some(())
    }

    /// States something in the written block, as deep in it as its own blocks go.
    fn need(&mut self, block: Block, path: &Path<'t>, key: &Key<'t>, need: Need) -> Option<()> {
        let (mut at, mut kind) = (0, Block::Top);
        let mut left = path.iter();
        kind = self.own.opens(kind, 0)?;
        left.next();
        let mut headers: Vec<&str> = Vec::new();
        for (key, header) in left {
            let found = match headers.is_empty() {
                true => self.own.tables.body(Some(at)).find(|&index| self.own.key(kind, index) == *key),
                false => None,
            };
            match found.and_then(|index| Some((index, self.own.opens(kind, index)?))) {
                Some((index, opened)) => (at, kind) = (index, opened),
                None => headers.push(header),
            }
        }
        let twins: Vec<u32> = match headers.is_empty() && kind == block && *key != Key::Free {
            true => self.own.tables.body(Some(at)).filter(|&index| self.own.key(kind, index) == *key).collect(),
            false => Vec::new(),
        };
        let wrapped = |statements: Vec<String>| -> Vec<String> {
            match headers.is_empty() {
                true => statements,
                false => {
                    let inner = statements.join("; ");
                    vec![headers.iter().rev().fold(inner, |inner, header| format!("{header} {{ {inner} }}"))]
                }
            }
        };
        match (need, twins.split_first()) {
            (Need::State(statements), None) => self.added.entry(at).or_default().extend(wrapped(statements)),
            (Need::State(statements), Some((first, rest))) => {
                let whole = |index: u32| self.own.tables.whole(index);
                self.edits.push(Here { span: whole(*first), text: statements.join("; ") });
                self.edits.extend(rest.iter().map(|&index| Here { span: whole(index), text: String::new() }));
            }
            (Need::Without(words), None) => {
                self.added.entry(at).or_default().extend(wrapped(vec![format!("{} {words}", table::WITHOUT)]));
            }
            // It is stated here, over one that may stand there too.
            (Need::Without(_), Some(_)) => return None,
        }
        Some(())
    }
}

fn header(side: Side<'_>, index: u32) -> String {
    let span = side.statement(index).map(|statement| side.tables.header(statement)).unwrap_or_default();
    String::from_utf8_lossy(span.of(side.source.bytes())).into_owned()
}

/// A statement with its block in one line, without its comments.
fn in_one_line(side: Side<'_>, index: u32) -> String {
    let header = header(side, index);
    if !side.statement(index).is_some_and(|statement| statement.has_body) {
        return header;
    }
    let inside: Vec<String> = side.tables.body(Some(index)).map(|one| in_one_line(side, one)).collect();
    if inside.is_empty() { format!("{header} {{ }}") } else { format!("{header} {{ {} }}", inside.join("; ")) }
}

/// What `without` calls a statement.
fn named(side: Side<'_>, block: Block, index: u32) -> Option<String> {
    let statement: &Statement = side.statement(index)?;
    let word = String::from_utf8_lossy(side.word(statement)).into_owned();
    match side.key(block, index) {
        Key::One(_, key) => Some(named_by(&word, key.as_deref())),
        Key::Series(_, b"") => Some(word),
        Key::Series(_, first) => Some(named_by(&word, Some(&String::from_utf8_lossy(first)))),
        Key::Free => None,
    }
}
