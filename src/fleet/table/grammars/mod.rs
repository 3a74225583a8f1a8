//! Grammars for editors and forges that colour texts, made from the table: one for those that know TextMate's form, one for tree-sitter.
//!
//! Both say what is a statement's word in which block, and leave what a statement takes to the reader: a grammar that refused more
//! would colour less.

mod text_mate;
mod tree_sitter;

pub use text_mate::text_mate;
pub use tree_sitter::{highlights, tree_sitter};

use super::lists::accepted;
use super::{Block, entries};
use crate::fleet::shape::pieces;
use crate::syntax::Unit;
use std::collections::BTreeSet;

/// The words between the parts of conditions and of statements.
const JOINING: [&str; 10] = ["above", "and", "becomes", "below", "between", "held", "not", "or", "when", "while"];

/// The words of a block's statements that may open a block, with the block.
fn openers(block: Block) -> impl Iterator<Item = (&'static str, Block)> {
    entries().filter(move |entry| entry.block == block).filter_map(|entry| Some((entry.word, entry.opens?)))
}

/// The words of a block's statements that open none.
fn plain(block: Block) -> impl Iterator<Item = &'static str> {
    entries().filter(move |entry| entry.block == block && entry.opens.is_none()).map(|entry| entry.word)
}

/// The words that statements take, beside names: those of their shapes and of their closed lists.
fn taken() -> BTreeSet<&'static str> {
    let mut words = BTreeSet::new();
    for piece in entries().flat_map(|entry| entry.shapes).flat_map(|shape| pieces(shape)) {
        match piece.trim_matches(['<', '>']).split_once('=') {
            Some((_, list)) => {
                let list: Vec<&'static str> = list.trim_end_matches(',').split('|').collect();
                words.extend(accepted(&list));
            }
            None if piece.starts_with(|letter: char| letter.is_ascii_alphabetic()) => {
                words.insert(piece);
            }
            None => {}
        }
    }
    words.retain(|word| word.starts_with(|letter: char| letter.is_ascii_alphabetic()) && !JOINING.contains(word));
    words
}

/// How the units are written, longer ones first, so that none hides another.
fn units() -> Vec<&'static str> {
    let mut units: Vec<&'static str> = Unit::ALL.iter().map(|unit| unit.text()).collect();
    units.sort_unstable_by_key(|unit| (std::cmp::Reverse(unit.len()), *unit));
    units
}
