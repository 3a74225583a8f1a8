//! What the rules say: findings, their mends, their order, their fingerprints, and the waivers that cover them.
//!
//! The road from what the rules found to what the pilot reads: [`grading`] keeps the rules that are asked for,
//! [`waiver`] takes out what the pilot has accepted in the text, [`gather`] orders, merges and fingerprints the rest,
//! [`known`] takes out what was recorded before, and [`verdict`] counts the rest for each aircraft.

pub mod caution;
pub mod coverage;
pub mod craft_words;
pub mod fact;
pub mod fingerprint;
pub mod gather;
pub mod grading;
pub mod hands;
pub mod known;
pub mod outcome;
pub mod verdict;
pub mod waiver;

use crate::fleet::words::Grip;
pub use crate::setup::{Setting, Witness, WitnessChannel};
use crate::source::Place;
use caution::Caution;
use compact_str::CompactString;
use fact::Fact;

/// How bad a finding is, after the signal words of safety labels. The order is from the least to the worst.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Severity {
    /// Untidy, confusing.
    Note,
    /// An aircraft can be lost or will not work.
    Caution,
    /// Someone can be hurt, or a law is broken.
    Danger,
    /// A description that can't be understood.
    Fault,
}

impl Severity {
    /// The word that every output uses.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Caution => "caution",
            Self::Danger => "danger",
            Self::Fault => "fault",
        }
    }
}

/// The name of a rule, `group/name`. Its text is the one in the rule's data file.
pub type RuleId = &'static str;

/// The group of a rule: what stands before the stroke.
pub fn group_of(rule: &str) -> &str {
    rule.split_once('/').map_or(rule, |(group, _)| group)
}

/// Whether a rule belongs to those that nothing silences: what can't be understood, and what is wrong with a waiver,
/// can't be waived, recorded as known, left out or graded differently.
pub fn is_protected(rule: &str) -> bool {
    group_of(rule) == "format" || rule.starts_with("house/waiver-")
}

/// A replacement of bytes in a file; an empty range inserts, an empty text deletes.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Edit {
    /// The bytes to replace.
    pub place: Place,
    /// What stands there afterwards.
    pub text: String,
}

/// One way to mend a finding, with the edits that do it.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Choice {
    /// What the pilot would say to choose it.
    pub label: String,
    /// The edits, in any order; they do not overlap.
    pub edits: Vec<Edit>,
}

/// How a finding can be mended.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Mend {
    /// Words only: the choice is the pilot's, or the mend is not in the text.
    Words(String),
    /// Edits that keep the pilot's intent.
    Sure(Choice),
    /// Edits that pick for the pilot; the first is the likeliest.
    Choices(String, Vec<Choice>),
}

impl Mend {
    /// The edits of all that can be chosen.
    pub fn edits(&self) -> impl Iterator<Item = &Edit> {
        let choices = match self {
            Self::Words(_) => &[],
            Self::Sure(choice) => std::slice::from_ref(choice),
            Self::Choices(_, choices) => choices,
        };
        choices.iter().flat_map(|choice| &choice.edits)
    }
}

/// One thing a rule found.
#[derive(Clone, PartialEq, Debug)]
pub struct Finding {
    /// The rule.
    pub rule: RuleId,
    /// How bad it is in this case.
    pub severity: Severity,
    /// The primary place.
    pub place: Place,
    /// Other places, each with a few words on what stands there.
    pub others: Vec<(Place, String)>,
    /// A short stable word, or a few, that tell the cases of one rule apart.
    pub key: &'static str,
    /// The case of the rule's page that says what can happen here; empty where it is what the page says in general.
    pub case: &'static str,
    /// What it rests on: channels, numbers, names.
    pub facts: Vec<Fact>,
    /// A sentence or two made of the facts, for people. Nothing reads it.
    pub message: String,
    /// A state that shows it.
    pub witness: Option<Box<Witness>>,
    /// For a proved absence: the range that is reached, in words.
    pub reached: Option<String>,
    /// The way to mend it.
    pub mend: Mend,
    /// Names of the aircraft it concerns.
    pub aircraft: Vec<CompactString>,
    /// What has to be done before it is tried on the bench.
    pub cautions: Vec<Caution>,
    /// How the handset is held that it is tried with: as a pistol where each model that flies one of the aircraft is on such a one.
    pub grip: Grip,
    /// Survives edits elsewhere in the file; 0 until the findings are gathered.
    pub fingerprint: u64,
}

impl Finding {
    /// A finding with words for its mend that are still empty, about no aircraft.
    pub fn new(rule: RuleId, severity: Severity, place: Place, key: &'static str, message: impl Into<String>) -> Self {
        Self {
            rule,
            severity,
            place,
            others: Vec::new(),
            key,
            case: "",
            facts: Vec::new(),
            message: message.into(),
            witness: None,
            reached: None,
            mend: Mend::Words(String::new()),
            aircraft: Vec::new(),
            cautions: vec![Caution::default()],
            grip: Grip::Sticks,
            fingerprint: 0,
        }
    }

    /// The channels among its facts.
    pub fn channels(&self) -> Vec<u8> {
        let mut found = Vec::new();
        self.facts.iter().for_each(|fact| fact.value.channels(&mut found));
        found
    }

    /// All its places, those of edits included.
    pub fn places(&self) -> impl Iterator<Item = Place> + '_ {
        let choices = match &self.mend {
            Mend::Words(_) => &[],
            Mend::Sure(choice) => std::slice::from_ref(choice),
            Mend::Choices(_, choices) => choices.as_slice(),
        };
        let edits = choices.iter().flat_map(|choice| &choice.edits).map(|edit| edit.place);
        std::iter::once(self.place).chain(self.others.iter().map(|(place, _)| *place)).chain(edits)
    }

    /// Shows all its places, those of edits included, so that they can be led elsewhere.
    pub fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        visit(&mut self.place);
        self.others.iter_mut().for_each(|(place, _)| visit(place));
        let choices = match &mut self.mend {
            Mend::Words(_) => &mut [],
            Mend::Sure(choice) => std::slice::from_mut(choice),
            Mend::Choices(_, choices) => choices.as_mut_slice(),
        };
        choices.iter_mut().flat_map(|choice| &mut choice.edits).for_each(|edit| visit(&mut edit.place));
    }

    /// Leads the places in some files elsewhere: to the text that the one which was judged was made of. `back` gives none
    /// for other files. An edit would not fit that text, so of mends with edits there only the words stay.
    pub fn lead_back(&mut self, back: &dyn Fn(Place) -> Option<Place>) {
        let lead = |place: &mut Place| *place = back(*place).unwrap_or(*place);
        lead(&mut self.place);
        self.others.iter_mut().for_each(|(place, _)| lead(place));
        let fits = |choice: &Choice| choice.edits.iter().all(|edit| back(edit.place).is_none());
        match &mut self.mend {
            Mend::Words(_) => {}
            Mend::Sure(choice) if fits(choice) => {}
            Mend::Sure(choice) => self.mend = Mend::Words(std::mem::take(&mut choice.label)),
            Mend::Choices(words, choices) => {
                choices.retain(fits);
                if choices.is_empty() {
                    self.mend = Mend::Words(std::mem::take(words));
                }
            }
        }
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::source::{FileId, Span};

    /// A caution of five bytes, for the tests of the stages from here on.
    pub(crate) fn finding(rule: RuleId, file: u32, at: u32, message: &str) -> Finding {
        Finding::new(rule, Severity::Caution, Place::new(FileId(file), Span::new(at, at + 5)), "here", message)
    }

    pub(crate) fn edit(file: u32, start: u32, end: u32, text: &str) -> Edit {
        Edit { place: Place::new(FileId(file), Span::new(start, end)), text: text.to_owned() }
    }

    #[test]
    fn places_are_led_back_and_edits_that_no_longer_fit_are_dropped() {
        // Everything in file 1 was made of another text, ten bytes further on.
        let back = |place: Place| {
            let Span { start, end } = place.span;
            (place.file == FileId(1)).then(|| Place::new(place.file, Span::new(start + 10, end + 10)))
        };
        let choice = |file| Choice { label: format!("in {file}"), edits: vec![edit(file, 5, 6, "x")] };
        for (mend, left) in [
            (Mend::Sure(choice(0)), Mend::Sure(choice(0))),
            (Mend::Sure(choice(1)), Mend::Words("in 1".into())),
            (
                Mend::Choices("take one".into(), vec![choice(1), choice(0)]),
                Mend::Choices("take one".into(), vec![choice(0)]),
            ),
            (Mend::Choices("take one".into(), vec![choice(1)]), Mend::Words("take one".into())),
        ] {
            let mut found = Finding { mend, ..finding("arming/slow", 1, 5, "") };
            found.others.push((Place::new(FileId(0), Span::new(1, 2)), String::new()));
            found.lead_back(&back);
            assert_eq!(found.mend, left);
            assert_eq!(found.place.span, Span::new(15, 20));
            assert_eq!(found.others[0].0.span, Span::new(1, 2));
        }
    }

    #[test]
    fn what_nothing_silences() {
        for (rule, protected) in [
            ("format/syntax", true),
            ("format/not-decided", true),
            ("house/waiver-bare", true),
            ("house/secret", false),
            ("arming/slow", false),
        ] {
            assert_eq!(is_protected(rule), protected, "{rule}");
        }
    }
}
