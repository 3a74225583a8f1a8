//! Mends done in rounds: the text is read again after each, until nothing changes.

mod state;
mod verdict;

use crate::findings::outcome::Outcome;
use crate::findings::{Choice, Finding, Mend, RuleId};
use crate::source::{FileId, Place};
use rustc_hash::FxHashSet;
use state::State;
use std::sync::Arc;
use verdict::{Careful, Key, key};

/// More rounds than this are not done. A fleet settles in a handful; one that does not is told.
pub const MOST_ROUNDS: usize = 200;

/// What is asked of the pilot: a finding, its choices, and the texts as they are then.
#[derive(Debug)]
pub struct Asked<'a> {
    /// The finding.
    pub finding: &'a Finding,
    /// Words on the choice.
    pub words: &'a str,
    /// What can be chosen.
    pub choices: &'a [Choice],
    /// All texts, by file.
    pub texts: &'a [Vec<u8>],
    /// What the one choice that is then left would bring, where it is asked about again: a danger, in words.
    pub warning: Option<&'a str>,
}

/// Who chooses where a mend picks for the pilot.
pub enum How<'a> {
    /// Nobody: only sure mends are done.
    Sure,
    /// The first choice is taken.
    First,
    /// The pilot: gives the number of a choice, from 0, or leaves it.
    Ask(&'a mut dyn FnMut(&Asked<'_>) -> Option<usize>),
}

/// A mend that was done.
#[derive(Clone, PartialEq, Debug)]
pub struct Done {
    /// The rule.
    pub rule: RuleId,
    /// Where the finding was, in the texts as they were at first.
    pub place: Place,
    /// What was done.
    pub label: String,
    /// The files that were edited, each once.
    pub files: Vec<FileId>,
}

/// Why a finding is left.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Why {
    /// Its mend is not in the text, or is told in words only.
    Words(String),
    /// A choice is the pilot's.
    Choice(String),
    /// A choice is the pilot's, and the first would bring this danger.
    ChoiceBrings(String, String),
    /// The pilot left it.
    Left,
    /// A fault stands near the edit, here.
    Fault(Place),
    /// Its mend would bring this danger.
    Danger(String),
    /// The mend can't be done, for this reason.
    Refused(String),
    /// The texts did not settle.
    Unsettled,
}

/// A finding that is left.
#[derive(Clone, PartialEq, Debug)]
pub struct Left {
    /// Its number in [`Mended::outcome`].
    pub finding: usize,
    /// Where it was, in the texts as they were at first.
    pub first: Place,
    /// Why.
    pub why: Why,
}

/// What came out.
#[derive(Debug, Default)]
pub struct Mended {
    /// The texts, by file.
    pub texts: Vec<Vec<u8>>,
    /// What was done, in the order in which it was.
    pub done: Vec<Done>,
    /// What is left of the findings that were to be mended.
    pub left: Vec<Left>,
    /// What was found at first, and is gone though nothing was done for it alone: the same lines were mended.
    pub gone: Vec<(RuleId, Place)>,
    /// What is found in the texts as they are now.
    pub outcome: Arc<Outcome>,
}

/// Mends the findings that are `wanted`. `look` reads all texts and judges them; it is asked again after each round.
/// `texts` are the files from number 0 on; findings in other files are left.
///
/// A round is kept only if each of its findings is gone by it and it brings no fault and, unless it repaired one, no
/// danger; otherwise half of it is tried, down to the single mend that is then refused.
pub fn mend(
    texts: Vec<Vec<u8>>,
    look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    wanted: &dyn Fn(&Finding) -> bool,
    mut how: How<'_>,
) -> Mended {
    let mut state = State::new(texts, look);
    let mut rounds = 0;
    let mut left: FxHashSet<Key> = FxHashSet::default();
    let settled = loop {
        if rounds >= MOST_ROUNDS {
            break false;
        }
        let sure = state.picks(wanted, |mend| match mend {
            Mend::Sure(_) => Some(0),
            _ => None,
        });
        if state.round(sure, Careful::Always, look) {
            rounds += 1;
            continue;
        }
        match &mut how {
            How::Sure => break true,
            How::First => {
                let first = state.picks(wanted, |mend| match mend {
                    Mend::Choices(..) => Some(0),
                    _ => None,
                });
                if !state.round(first, Careful::Always, look) {
                    break true;
                }
                rounds += 1;
            }
            How::Ask(ask) => {
                let Some(index) = state.next_question(wanted, &left) else { break true };
                left.insert(key(&state.outcome.findings[index]));
                state.question(index, *ask, look);
            }
        }
    };
    state.finish(wanted, &how, &left, settled, look)
}

/// A choice that would bring a danger: [`mend`] refuses it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Warning {
    /// The number of its finding in the outcome.
    pub finding: usize,
    /// Its number among the finding's choices.
    pub choice: usize,
    /// The rule that would find the danger.
    pub rule: RuleId,
}

/// Tries out choices of the findings that are `wanted`, and changes nothing: `look` is asked about the texts with one of them
/// done, and at the end about the texts as they are. In a large fleet only a few are tried.
pub fn warnings(
    texts: &[Vec<u8>],
    look: &mut dyn FnMut(&[Vec<u8>]) -> Arc<Outcome>,
    wanted: &dyn Fn(&Finding) -> bool,
) -> Vec<Warning> {
    let found = State::new(texts.to_vec(), look).warnings(wanted, look);
    look(texts);
    found
}

#[cfg(test)]
mod tests;
