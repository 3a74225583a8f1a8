//! The words around a place, by which a finding is known again.

use crate::fleet;
use crate::source::{FileId, Place};
use crate::syntax::{NONE, Statement, Tables, parse};
use std::cell::RefCell;

/// How many items of a statement tell it from others: each finding in a list of thousands would else read all of it.
const MOST_ITEMS: usize = 64;

/// The words around places, for fingerprints. Findings are asked about in file order, so one file is kept.
pub(super) struct Contexts<'t> {
    text_of: &'t dyn Fn(FileId) -> Option<Vec<u8>>,
    last: RefCell<Option<(FileId, Vec<u8>, Tables)>>,
}

impl<'t> Contexts<'t> {
    /// No file is read before it is asked about.
    pub(super) fn new(text_of: &'t dyn Fn(FileId) -> Option<Vec<u8>>) -> Self {
        Self { text_of, last: RefCell::new(None) }
    }

    /// From the outermost block header to the statement at a place.
    pub(super) fn of(&self, place: Place) -> String {
        let mut last = self.last.borrow_mut();
        if last.as_ref().is_none_or(|(file, ..)| *file != place.file) {
            let text = (self.text_of)(place.file).unwrap_or_default();
            let mut tables = last.take().map(|(.., tables)| tables).unwrap_or_default();
            parse(&text, fleet::table::vocabulary, &mut tables);
            *last = Some((place.file, text, tables));
        }
        let Some((_, text, tables)) = last.as_ref() else { return String::new() };
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
