//! The words around a place, by which a finding is known again.

use super::file::Header;
use crate::findings::Finding;
use crate::findings::fingerprint::gist;
use crate::fleet;
use crate::source::{FileId, Place};
use crate::syntax::{Kind, Tables, parse};
use rustc_hash::FxHashMap;

/// How many items of a statement tell it from others.
const MOST_ITEMS: usize = 64;

/// Finds the words around places. Of each statement that stands around one, its own words are taken from its text once.
pub(super) struct Words<'w> {
    /// The text of a file, and where its statements stand.
    text_of: &'w dyn Fn(FileId) -> Option<(&'w [u8], &'w [Header])>,
    tables: Tables,
    known: FxHashMap<(FileId, u32), String>,
}

impl<'w> Words<'w> {
    pub(super) fn new(text_of: &'w dyn Fn(FileId) -> Option<(&'w [u8], &'w [Header])>) -> Self {
        Self { text_of, tables: Tables::default(), known: FxHashMap::default() }
    }

    /// What a finding is known by; never 0, which stands for none yet.
    pub(super) fn gist(&mut self, finding: &Finding) -> u64 {
        gist(finding, &self.around(finding.place)).max(1)
    }

    /// From the outermost block header to the statement at a place.
    fn around(&mut self, place: Place) -> String {
        let Some((text, headers)) = (self.text_of)(place.file) else { return String::new() };
        let mut statements = Vec::new();
        let mut next = headers.partition_point(|header| header.span.start <= place.span.start).checked_sub(1);
        while let Some((index, header)) = next.and_then(|index| Some((index, headers.get(index)?))) {
            statements.push((index as u32, header));
            next = Some(header.parent as usize);
        }
        let mut words = String::new();
        for (index, header) in statements.into_iter().rev() {
            if !words.is_empty() {
                words.push_str(" / ");
            }
            let tables = &mut self.tables;
            let own = self.known.entry((place.file, index)).or_insert_with(|| own(header.span.of(text), tables));
            words.push_str(own);
        }
        words
    }
}

/// A statement's own words without what layout alone decides: blanks, and quotes around a name.
fn own(header: &[u8], tables: &mut Tables) -> String {
    parse(header, fleet::table::vocabulary, tables);
    let mut words = String::new();
    for token in tables.tokens.iter().filter(|token| token.kind != Kind::EndOfLine).take(MOST_ITEMS + 1) {
        let word = String::from_utf8_lossy(token.of(header));
        let name = word.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
        if !words.is_empty() {
            words.push(' ');
        }
        words.push_str(name.unwrap_or(&word));
    }
    words
}
