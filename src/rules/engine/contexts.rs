//! The words around a place, by which a finding is known again.

use crate::findings::Finding;
use crate::findings::fingerprint::gist;
use crate::fleet;
use crate::source::{FileId, Place};
use crate::syntax::{NONE, Statement, Tables, parse};

/// How many items of a statement tell it from others: each finding in a list of thousands would else read all of it.
const MOST_ITEMS: usize = 64;

/// A piece of work, by its number.
type Piece<'p> = &'p (dyn Fn(usize) -> Vec<u64> + Sync);

/// Does so many pieces of work, numbered from 0, and gives their results in order. The caller may have them done at the same
/// time.
#[derive(Clone, Copy)]
pub struct Spread<'s>(pub &'s (dyn Fn(usize, Piece<'_>) -> Vec<Vec<u64>> + Sync));

impl std::fmt::Debug for Spread<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Spread")
    }
}

impl Default for Spread<'_> {
    /// One piece after the other.
    fn default() -> Self {
        Self(&|count, piece| (0..count).map(piece).collect())
    }
}

/// So many findings or more are looked at in one piece of work.
const FINDINGS_OF_A_PIECE: usize = 256;

/// What each finding is known by, by its number: the hash of its rule, its message and the words around it. Those that have
/// it already keep it.
pub(super) fn gists(
    findings: &[Finding],
    text_of: &(dyn Fn(FileId) -> Option<Vec<u8>> + Sync),
    spread: Spread<'_>,
) -> Vec<u64> {
    // In file order, and no file in two pieces, so that each text is read once.
    let mut order: Vec<usize> = (0..findings.len()).collect();
    order.sort_by_key(|&index| findings[index].place);
    let pieces = pieces(&order, |index| findings[index].place.file);
    let found = (spread.0)(pieces.len(), &|piece| {
        let (mut text, mut tables, mut last) = (Vec::new(), Tables::default(), None);
        let of = |&index: &usize| {
            let finding = &findings[index];
            if finding.fingerprint != 0 {
                return finding.fingerprint;
            }
            if last.replace(finding.place.file) != Some(finding.place.file) {
                text = text_of(finding.place.file).unwrap_or_default();
                parse(&text, fleet::table::vocabulary, &mut tables);
            }
            gist_in(finding, &text, &tables)
        };
        pieces[piece].iter().map(of).collect()
    });
    let mut gists = vec![0; findings.len()];
    order.iter().zip(found.into_iter().flatten()).for_each(|(&index, gist)| gists[index] = gist);
    gists
}

/// What a finding is known by, with the tables of its text at hand; never 0, which stands for none yet.
pub(super) fn gist_in(finding: &Finding, text: &[u8], tables: &Tables) -> u64 {
    gist(finding, &words(text, tables, finding.place)).max(1)
}

/// Cuts a list in file order into pieces that end where a file does.
fn pieces(order: &[usize], file_of: impl Fn(usize) -> FileId) -> Vec<&[usize]> {
    let (mut pieces, mut left) = (Vec::new(), order);
    while let Some(&last) = left.get(FINDINGS_OF_A_PIECE.min(left.len()).wrapping_sub(1)) {
        let (piece, rest) = left.split_at(left.partition_point(|&index| file_of(index) <= file_of(last)));
        pieces.push(piece);
        left = rest;
    }
    pieces
}

/// The words around a place: from the outermost block header to the statement there.
fn words(text: &[u8], tables: &Tables, place: Place) -> String {
    let at = tables.statements.partition_point(|statement| tables.word(statement).start <= place.span.start);
    let mut statements = Vec::new();
    let mut index = at.checked_sub(1).map_or(NONE, |at| at as u32);
    while let Some(statement) = tables.statements.get(index as usize) {
        statements.push(statement);
        index = statement.parent;
    }
    let mut words = String::new();
    for statement in statements.into_iter().rev() {
        if !words.is_empty() {
            words.push_str(" / ");
        }
        add_words(&mut words, text, tables, statement);
    }
    words
}

/// A statement's own words without what layout alone decides: blanks, and quotes around a name.
fn add_words(words: &mut String, text: &[u8], tables: &Tables, statement: &Statement) {
    words.push_str(&String::from_utf8_lossy(tables.word(statement).of(text)));
    for item in tables.items(statement).iter().take(MOST_ITEMS) {
        let word = String::from_utf8_lossy(item.of(text));
        let name = word.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
        words.push(' ');
        words.push_str(name.unwrap_or(&word));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Many findings of one file would else have its text read again for every few of them.
    #[test]
    fn no_file_is_in_two_pieces() {
        let files: Vec<u32> = [(0, 3), (1, 1000), (2, 1), (3, 255), (4, 256), (5, 100)]
            .into_iter()
            .flat_map(|(file, count)| std::iter::repeat_n(file, count))
            .collect();
        let order: Vec<usize> = (0..files.len()).collect();
        let pieces = pieces(&order, |index| FileId(files[index]));
        assert_eq!(pieces.concat(), order);
        let lengths: Vec<usize> = pieces.iter().map(|piece| piece.len()).collect();
        assert_eq!(lengths, [1003, 256, 256, 100]);
        assert!(super::pieces(&[], |_| FileId(0)).is_empty());
    }
}
