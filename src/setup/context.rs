//! What holds for the whole inspection.

use super::numbers::UsedNumbers;
use crate::fleet::equipment::Link;
use crate::fleet::model::Model;
use crate::fleet::{Fleet, read_models, table};
use crate::signal::Answers;
use crate::source::{FileId, Place};
use crate::syntax::{Tables, parse_part};
use rustc_hash::FxHashSet;
use std::borrow::Cow;

/// What holds for the whole inspection.
#[derive(Debug)]
pub struct Context<'s> {
    /// The fleet of all files.
    pub fleet: &'s Fleet,
    /// The place of aircraft that name none.
    pub default_place: Option<&'s str>,
    /// The analysis budget of one question; `None`: the program's own.
    pub budget: Option<u64>,
    /// The texts from which models that were reduced are read again.
    pub texts: Option<Texts<'s>>,
    /// Reduced models inside of which something could not be understood, by their headers.
    pub unclear: Option<&'s FxHashSet<Place>>,
    /// The receiver numbers that are used.
    pub used: &'s UsedNumbers,
    /// What models that are alike were answered.
    pub answers: Option<&'s Answers>,
}

/// Gives the texts of files again, in the memory of a text that nobody needs any longer.
#[derive(Clone, Copy)]
pub struct Texts<'t>(pub &'t (dyn Fn(FileId, Vec<u8>) -> Option<Vec<u8>> + Sync));

impl Texts<'_> {
    /// The text of a file as rules see it; `None` where it is no longer the same.
    pub fn of(&self, file: FileId) -> Option<Vec<u8>> {
        self.again(file, Vec::new())
    }

    /// The same in the memory of another text.
    pub fn again(&self, file: FileId, spent: Vec<u8>) -> Option<Vec<u8>> {
        (self.0)(file, spent)
    }
}

impl std::fmt::Debug for Texts<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Texts")
    }
}

impl Context<'_> {
    /// Whether every line of a model was understood.
    pub fn is_clear(&self, model: &Model) -> bool {
        let place = model.head.place(model.head.header);
        model.head.lost.is_empty() && !self.unclear.is_some_and(|unclear| unclear.contains(&place))
    }

    /// A model with everything that its text says. `None` where it was reduced and its text is no longer the same.
    pub fn whole<'m>(&self, model: &'m Model) -> Option<Cow<'m, Model>> {
        if !model.reduced {
            return Some(Cow::Borrowed(model));
        }
        let (file, mut tables) = (model.head.file, Tables::default());
        let text = self.texts?.of(file)?;
        parse_part(&text, model.head.body.whole, table::vocabulary, &mut tables);
        read_models(file, &text, &tables).0.pop().map(Cow::Owned)
    }

    /// The receiver numbers of a link that no model and no receiver uses; a few of them, lowest first, but for the lowest of
    /// the link: most pilots begin with it, so that it meets another handset's most easily.
    pub fn free_numbers(&self, link: &Link) -> Vec<u16> {
        self.used.free(self.fleet, link)
    }
}
