//! Blocks that are `like` others: `craft knot like dunlin { … }`.
//!
//! Such a block is **spelled out**: turned into a text of its own, which the same reader reads as any other block, so that
//! nothing behind the reading knows of `like`. The text knows where each of its bytes stands ([`Spelt`]), so that what is found in
//! it is found in the lines that say it. The law, by which the two blocks are put together (`merge`):
//!
//! * A statement that is stated takes the place of the one with the same key: its word, and for those that may stand several
//!   times the item that tells them apart. What of both has a block is put together by the same law, under the header that is
//!   stated.
//! * Statements that may stand several times and have no such item belong together (`value`, `rate`, `carry`, `timer`): one
//!   that is stated takes the place of all of its word, of an `alarm` of all of its kind. An `expect` comes to the others.
//! * `without` takes a statement away. What is stated beside it then stands alone.
//! * `flies`, a model's `receiver-number` and a receiver's `number` belong to one aircraft and are never taken over.

mod back;
mod merge;
#[cfg(test)]
pub(super) mod tests;
mod text;

pub use back::{Here, here};
pub use text::Spelt;

use super::condition::Name;
use super::equipment::Head;
use super::problem::{Problem, ProblemKind};
use super::read::{FileFleet, read_behind};
use super::resolve::{Fleet, quoted};
use super::table::{self, Block};
use crate::source::{FileId, Place, Span};
use crate::syntax::{MAX_BYTES, Tables, Trouble, parse, parse_part};
use compact_str::CompactString;
use merge::{Merge, Side};
use rustc_hash::FxHashMap;
use std::sync::{Arc, Mutex};
use text::Source;

/// How many blocks may stand behind each other, each like the next.
pub const MAX_CHAIN: usize = 32;

/// How many bytes all blocks that are like others may have when they are spelled out.
pub const MAX_SPELT: usize = 64 << 20;

/// A block at the top level as it is written.
#[derive(Clone, Debug)]
pub struct Written {
    /// Its kind, as the fleet numbers them.
    pub kind: u8,
    /// Its name.
    pub name: CompactString,
    /// The name of the block that it is like.
    pub like: Option<Name>,
    /// Where its header stands.
    pub header: Place,
    /// The whole block, in the same file.
    pub whole: Span,
}

impl Written {
    /// A block that was read from its own text.
    pub fn of(kind: u8, head: &Head) -> Self {
        let like = head.like.as_deref().cloned();
        Self { kind, name: head.name.value.clone(), like, header: head.place(head.header), whole: head.body.whole }
    }

    /// How messages name it.
    pub fn shown(&self) -> String {
        format!("{} {}", Fleet::word(self.kind), quoted(&self.name))
    }

    fn block(&self) -> Block {
        match self.kind {
            Fleet::SITE => Block::Place,
            Fleet::LINK => Block::Link,
            Fleet::HANDSET => Block::Handset,
            Fleet::CRAFT => Block::Craft,
            _ => Block::Model,
        }
    }
}

/// Finds the block of a kind with a name.
type Find<'t> = dyn Fn(u8, &str) -> Option<Written> + Sync + 't;

/// The rig text of a file, with the places of the words that were told to be wrong.
type TextOf<'t> = dyn Fn(FileId) -> Option<(&'t [u8], &'t [u32])> + Sync + 't;

/// The texts of a fleet, from which blocks are spelled out.
pub struct Speller<'t> {
    find: &'t Find<'t>,
    text_of: &'t TextOf<'t>,
    /// Blocks that were spelled out already, since others may be like them.
    known: Mutex<FxHashMap<Place, Arc<Spelt>>>,
}

/// The blocks that a block is like, one behind the other.
#[derive(Debug, Default)]
pub struct Chain {
    /// From the nearest to the last.
    pub blocks: Vec<Written>,
    /// The names of all of them; the last one may be nobody's.
    pub names: Vec<CompactString>,
    /// Whether the last of them is like no other.
    pub whole: bool,
    /// What is wrong with it. Names that nobody has are told where all such names are.
    pub problem: Option<Problem>,
}

/// The blocks of one file that are like others, spelled out.
#[derive(Debug, Default)]
pub struct Behind {
    /// The kinds and names of all blocks that they are like, one behind the other.
    pub names: Vec<(u8, CompactString)>,
    /// Where their headers begin in the file.
    blocks: Vec<u32>,
    text: Spelt,
    tables: Tables,
    problems: Vec<Problem>,
}

/// What is read of a file with such blocks.
#[derive(Debug)]
pub struct Read {
    /// Its blocks, those that are like others too.
    pub fleet: FileFleet,
    /// The text that was read: that of the file, and these blocks behind it.
    pub spelt: Spelt,
    /// Its tables.
    pub tables: Tables,
}

impl Behind {
    /// Reads the text of the file, with the words that were told to be wrong, and the blocks behind it.
    pub fn read(&self, file: FileId, bytes: &[u8], broken: &[u32]) -> Read {
        let mut spelt = Spelt::given(file, bytes, broken);
        spelt.append(&self.text);
        let mut tables = Tables::default();
        parse(bytes, table::vocabulary, &mut tables);
        tables.append(&self.tables, bytes.len() as u32);
        tables.mark_broken(&spelt.broken);
        let mut fleet = read_behind(file, spelt.text.as_bytes(), &tables, &self.blocks);
        fleet.problems.extend(self.problems.iter().cloned());
        Read { fleet, spelt, tables }
    }
}

impl<'t> Speller<'t> {
    /// With the ways to find blocks and texts.
    pub fn new(find: &'t Find<'t>, text_of: &'t TextOf<'t>) -> Self {
        Self { find, text_of, known: Mutex::default() }
    }

    /// What a block is like.
    pub fn chain(&self, of: &Written) -> Chain {
        let mut chain = Chain::default();
        let mut next = of.like.clone();
        while let Some(name) = next {
            chain.names.push(name.value.clone());
            let Some(found) = (self.find)(of.kind, &name.value) else { return chain };
            if found.header == of.header {
                chain.problem = circle(of, &chain.blocks);
                return chain;
            }
            if chain.blocks.iter().any(|known| known.header == found.header) {
                // A circle further on: it is told there.
                return chain;
            }
            if chain.blocks.len() == MAX_CHAIN {
                let message = format!(
                    "more than {MAX_CHAIN} blocks stand behind {}, each like the next: it is not put together",
                    of.shown()
                );
                let mend = "let it be like one of the first of them";
                chain.problem = Some(Problem::new(ProblemKind::TooLarge, of.header, message, mend));
                return chain;
            }
            next = found.like.clone();
            chain.blocks.push(found);
        }
        chain.whole = true;
        chain
    }

    /// How many bytes a block has at most when it is spelled out.
    pub fn bound(&self, of: &Written) -> usize {
        let length = |block: &Written| (block.whole.end - block.whole.start) as usize;
        self.chain(of).blocks.iter().chain([of]).map(length).sum()
    }

    /// A block as one that is like no other, with what is wrong with how it is put together. Its chain is whole.
    pub fn spell(&self, of: &Written, chain: &[Written]) -> (Spelt, Vec<Problem>) {
        let Some((base, behind)) = chain.split_first() else { return (Spelt::default(), Vec::new()) };
        if behind.is_empty() {
            let mut tables = Tables::default();
            let Some(base_side) = self.given(base, &mut tables) else { return (Spelt::default(), Vec::new()) };
            return self.merged(of, base, base_side);
        }
        let known = || self.known.lock().ok().and_then(|known| known.get(&base.header).cloned());
        let spelt = known().unwrap_or_else(|| {
            let spelt = Arc::new(self.spell(base, behind).0);
            if let Ok(mut known) = self.known.lock() {
                known.insert(base.header, spelt.clone());
            }
            spelt
        });
        let mut tables = Tables::default();
        let whole = Span::new(0, spelt.text.len() as u32);
        parse_part(spelt.text.as_bytes(), whole, table::vocabulary, &mut tables);
        self.merged(of, base, Side { source: Source::Spelt(&spelt), tables: &tables })
    }

    /// Spells the blocks of a file out; none of them where there is no room for it.
    pub fn behind(&self, written: &[Written], refused: bool) -> Behind {
        let mut behind = Behind::default();
        behind.text.begin_line();
        for block in written {
            let chain = self.chain(block);
            behind.names.extend(chain.names.into_iter().map(|name| (block.kind, name)));
            behind.problems.extend(chain.problem);
            if !chain.whole || refused {
                continue;
            }
            let (spelt, wrong) = self.spell(block, &chain.blocks);
            behind.problems.extend(wrong);
            behind.text.append(&spelt);
            behind.blocks.push(block.header.span.start);
        }
        parse(behind.text.text.as_bytes(), table::vocabulary, &mut behind.tables);
        let is_limit = |trouble| matches!(trouble, Trouble::TooMany | Trouble::TooLong);
        if refused || behind.tables.problems.iter().any(|problem| is_limit(problem.trouble)) {
            let problems = written.first().map(too_large).into_iter().collect();
            behind = Behind { names: behind.names, problems, ..Behind::default() };
        }
        behind
    }

    fn given<'a>(&'a self, block: &Written, tables: &'a mut Tables) -> Option<Side<'a>> {
        let (bytes, broken) = (self.text_of)(block.header.file)?;
        parse_part(bytes, block.whole, table::vocabulary, tables);
        Some(Side { source: Source::Given(block.header.file, bytes, broken), tables })
    }

    fn merged(&self, of: &Written, base: &Written, base_side: Side<'_>) -> (Spelt, Vec<Problem>) {
        let mut tables = Tables::default();
        let Some(own) = self.given(of, &mut tables) else { return (Spelt::default(), Vec::new()) };
        let base_name = base.shown();
        let mut merge = Merge {
            own,
            base: base_side,
            base_name: &base_name,
            header: of.header,
            out: Spelt::default(),
            problems: Vec::new(),
            depth: 1,
        };
        // The header without `like` and the name behind it.
        let Some(header) = own.statement(0) else { return (Spelt::default(), Vec::new()) };
        let named = own.tables.items(header).first().map_or(header_word(own), |name| header_word(own).to(name.span()));
        merge.out.take(own.source, named);
        merge.out.add(" {\n");
        merge.body(of.block(), 0, 0);
        merge.close();
        (merge.out, merge.problems)
    }
}

fn header_word(side: Side<'_>) -> Span {
    side.statement(0).map_or_else(Span::default, |header| side.tables.word(header).span())
}

/// The problem of blocks that are like each other in a circle: it is told at the first of them.
fn circle(of: &Written, others: &[Written]) -> Option<Problem> {
    if others.iter().any(|other| other.header < of.header) {
        return None;
    }
    let names: Vec<String> = std::iter::once(of).chain(others).map(|block| quoted(&block.name)).collect();
    let message = format!("{} is like itself: {} → {}", of.shown(), names.join(" → "), quoted(&of.name));
    let mend = "break the loop: one of these blocks has to stand on its own";
    let problem = Problem::new(ProblemKind::Cycle, of.header, message, mend);
    Some(others.iter().fold(problem, |problem, other| problem.other(other.header, other.shown())))
}

fn too_large(first: &Written) -> Problem {
    let message = format!(
        "what is `like` other blocks comes to more than {} MiB in one file or {} MiB in all when it is spelled out: {} and \
         those behind it in this file are not put together",
        MAX_BYTES >> 20,
        MAX_SPELT >> 20,
        first.shown()
    );
    let mend = "let fewer blocks be like long ones, or inspect a part of the folder";
    Problem::new(ProblemKind::TooLarge, first.header, message, mend)
}
