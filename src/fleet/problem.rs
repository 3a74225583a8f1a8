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
    /// A word that is not in the closed list of its place.
    UnknownWord,
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
    let letters = letters(word);
    let mut best: Option<(usize, &str)> = None;
    for candidate in known {
        let other = candidate.chars().count();
        let most = length.max(other).max(3) / 3;
        // A slip changes the length by one at most, and takes away and brings in one letter at most.
        let differ = (letters ^ self::letters(candidate)).count_ones() as usize;
        if length.abs_diff(other) > most || differ > 2 * most {
            continue;
        }
        let distance = strsim::damerau_levenshtein(word, candidate);
        if distance <= most && best.is_none_or(|(known, _)| distance < known) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Which letters a word has, several letters to a bit.
fn letters(word: &str) -> u64 {
    word.chars().fold(0, |set, letter| set | 1 << (u32::from(letter) % 64))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// What is passed over without a comparison is never near enough.
        #[test]
        fn the_nearest_word_is_the_nearest_of_all(word in "[a-dé]{0,7}", known in prop::collection::vec("[a-dé]{0,7}", 0..12)) {
            let near = |candidate: &&String| {
                let longest = word.chars().count().max(candidate.chars().count()).max(3);
                strsim::damerau_levenshtein(&word, candidate) * 3 <= longest
            };
            let wanted = known.iter().filter(near).min_by_key(|known| strsim::damerau_levenshtein(&word, known));
            prop_assert_eq!(nearest(&word, known.iter().map(String::as_str)), wanted.map(String::as_str));
        }
    }
}
