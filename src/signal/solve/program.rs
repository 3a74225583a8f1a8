//! A program that can be asked, and what it keeps from question to question.

use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::Parts;
use crate::signal::program::reason::{Flaw, Part, Reason};
use crate::signal::solve::cache_key::Ids;
use crate::signal::solve::dag::Dag;
use crate::signal::solve::domains::Domains;
use crate::signal::solve::latch_states::LatchStates;
use crate::signal::solve::query_cache::Answers;
use std::cell::{RefCell, RefMut};
use std::ops::Deref;

/// The analysis budget of one question unless another is set, in regions of positions looked at. A region in which a great
/// deal has to be worked out counts for several.
pub const BUDGET: u64 = 200_000;

/// One model and its aircraft, to be asked about every reachable state. What is evaluated without a search is asked of the
/// [`Compiled`] form that it holds.
#[derive(Clone, Debug)]
pub struct Program {
    compiled: Compiled,
    pub(in crate::signal) budget: u64,
    pub(in crate::signal) kept: RefCell<SearchState>,
    /// What other programs answered, and the numbers of this one's parts among theirs.
    pub(in crate::signal) answers: Option<Answers>,
    pub(in crate::signal) ids: RefCell<Ids>,
}

/// What a program keeps from question to question.
#[derive(Clone, Debug, Default)]
pub(in crate::signal) struct SearchState {
    pub(in crate::signal) dag: Dag,
    pub(in crate::signal) latch_states: LatchStates,
    pub(in crate::signal) domains: Domains,
}

impl Deref for Program {
    type Target = Compiled;

    fn deref(&self) -> &Compiled {
        &self.compiled
    }
}

impl Program {
    /// Checks parts and prepares them.
    ///
    /// # Errors
    /// The first [`Flaw`] found.
    pub fn new(parts: Parts) -> Result<Self, Flaw> {
        let compiled = Compiled::new(parts).map_err(|flaws| flaws.into_iter().next());
        let nothing = Flaw { reason: Reason::Malformed("nothing"), part: Part::Whole };
        compiled.map(Self::of).map_err(|first| first.unwrap_or(nothing))
    }

    /// What is compiled, to be asked about.
    pub(in crate::signal) fn of(compiled: Compiled) -> Self {
        let (kept, ids) = (RefCell::new(SearchState::default()), RefCell::new(Ids::default()));
        Self { compiled, budget: BUDGET, kept, answers: None, ids }
    }

    /// The same program with another analysis budget per question, in regions of positions looked at.
    pub fn with_budget(self, budget: u64) -> Self {
        // What others found with more of it is not this program's to know.
        Self { budget, answers: None, ..self }
    }

    /// The same program, which uses what others that share these answers were asked.
    pub fn with_answers(self, answers: &Answers) -> Self {
        Self { answers: (self.budget == BUDGET).then(|| answers.clone()), ..self }
    }

    /// What is kept from question to question. Nothing is put together before the first one.
    pub(in crate::signal) fn kept(&self) -> RefMut<'_, SearchState> {
        let mut kept = self.kept.borrow_mut();
        if kept.dag.sizes() == (0, 0) {
            kept.dag = Dag::with_room();
        }
        kept
    }
}
