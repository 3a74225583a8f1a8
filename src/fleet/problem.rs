//! What can't be understood in a description.

use crate::source::{Place, Span};

/// The rule of the group `format` that a problem belongs to.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Hash)]
pub enum ProblemKind {
    /// Text that is no statement.
    Syntax,
    /// A word that no statement here has.
    UnknownStatement,
    /// A block without something it can't do without.
    MissingStatement,
    /// A statement that may stand once stands twice.
    RepeatedStatement,
    /// A name that is not defined.
    UnknownName,
    /// Two things of one kind with one name.
    NameTwice,
    /// A missing or wrong unit.
    Unit,
    /// A value outside what can be.
    Range,
    /// Channels, conditions or latches that feed themselves.
    Cycle,
    /// A first line that is missing or newer than this program.
    Version,
    /// A limit of the program is passed.
    TooLarge,
    /// A file that can't be read or is not UTF-8.
    Unreadable,
}

/// A way out of a problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Repair {
    /// What the pilot would say to choose it.
    pub label: String,
    /// The bytes that are replaced, in the problem's file.
    pub span: Span,
    /// What stands there afterwards.
    pub text: String,
}

/// A problem with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// What kind.
    pub kind: ProblemKind,
    /// Where.
    pub place: Place,
    /// Other places, each with a few words.
    pub others: Vec<(Place, String)>,
    /// What is wrong, in a sentence.
    pub message: String,
    /// How it can be mended, in words.
    pub mend: String,
    /// Edits to choose from; the first is the likeliest.
    pub repairs: Vec<Repair>,
}

impl Problem {
    /// A problem with nothing but its place, its sentence and words for its mend.
    pub fn new(kind: ProblemKind, place: Place, message: impl Into<String>, mend: impl Into<String>) -> Self {
        let (message, mend) = (message.into(), mend.into());
        Self { kind, place, others: Vec::new(), message, mend, repairs: Vec::new() }
    }

    /// With another place.
    pub fn other(mut self, place: Place, label: impl Into<String>) -> Self {
        self.others.push((place, label.into()));
        self
    }

    /// With an edit to choose.
    pub fn repair(mut self, label: impl Into<String>, span: Span, text: impl Into<String>) -> Self {
        self.repairs.push(Repair { label: label.into(), span, text: text.into() });
        self
    }
}

/// The known word that is nearest to `word`, where one is near enough to be meant.
pub fn nearest<'w>(word: &str, known: impl IntoIterator<Item = &'w str>) -> Option<&'w str> {
    let length = word.chars().count();
    // A word far longer than any that is known is no slip, and comparing it would take long.
    if length > 100 {
        return None;
    }
    known
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(word, candidate), candidate))
        .filter(|&(distance, candidate)| distance * 3 <= length.max(candidate.chars().count()).max(3))
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, candidate)| candidate)
}
