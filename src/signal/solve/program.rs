//! A program that can be asked, and what it keeps from question to question.

use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::Parts;
use crate::signal::program::reason::{Flaw, Part, Reason};
use crate::signal::solve::cache_key::Ids;
use crate::signal::solve::dag::{Dag, TooLarge};
use crate::signal::solve::domains::Domains;
use crate::signal::solve::latch_states::LatchStates;
use crate::signal::solve::query_cache::Answers;
use std::cell::{Cell, RefCell, RefMut};
use std::ops::Deref;
use std::rc::Rc;

/// The analysis budget of one question unless another is set, in regions of positions looked at. A region in which a great
/// deal has to be worked out counts for several.
pub const BUDGET: u64 = 4_000;

/// The analysis budget of one model with all its aircraft, in the same measure: every question and every range together. The
/// largest model of the fleets in `testdata/` takes about a fiftieth of it (`tests/all/hostile_sizes.rs`).
pub const MODEL_BUDGET: u64 = 16_000;

/// What may still be looked at for one model, by all its programs. A clone is the same one.
#[derive(Clone, Debug)]
pub struct Allowance(Rc<Cell<u64>>);

impl Default for Allowance {
    fn default() -> Self {
        Self(Rc::new(Cell::new(MODEL_BUDGET)))
    }
}

impl Allowance {
    /// How much was looked at, in regions of positions.
    pub fn spent(&self) -> u64 {
        MODEL_BUDGET - self.0.get()
    }

    /// Whether nothing more may be looked at.
    pub(in crate::signal) fn is_spent(&self) -> bool {
        self.0.get() == 0
    }

    /// Takes work off; false where there is less left.
    fn take(&self, work: u64) -> bool {
        let left = self.0.get();
        self.0.set(left.saturating_sub(work));
        work <= left
    }
}

/// How many nodes are put together in the time in which one region is looked at. What is put together is also kept: this
/// bounds the memory of a model.
const NODES_A_REGION: usize = 4;

/// One model and its aircraft, to be asked about every reachable state. What is evaluated without a search is asked of the
/// [`Compiled`] form that it holds.
#[derive(Clone, Debug)]
pub struct Program {
    compiled: Compiled,
    budget: u64,
    allowance: Allowance,
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
        Self { compiled, budget: BUDGET, allowance: Allowance::default(), kept, answers: None, ids }
    }

    /// The same program with another analysis budget per question, in regions of positions looked at.
    pub fn with_budget(self, budget: u64) -> Self {
        // What others found with more of it is not this program's to know.
        Self { budget, answers: None, ..self }
    }

    /// The same program, which shares with others what may be looked at.
    pub fn with_allowance(self, allowance: &Allowance) -> Self {
        Self { allowance: allowance.clone(), ..self }
    }

    /// What may still be looked at for the model.
    pub const fn allowance(&self) -> &Allowance {
        &self.allowance
    }

    /// Does something with what one question may look at, and takes what was looked at off what is left for the model.
    pub(in crate::signal) fn spending<T>(&self, ask: impl FnOnce(&mut u64) -> T) -> T {
        let whole = self.budget.min(self.allowance.0.get());
        let mut left = whole;
        let found = ask(&mut left);
        self.allowance.take(whole - left);
        found
    }

    /// Pays for an answer that another program found by so much work; false where so much is not left.
    pub(in crate::signal) fn pay(&self, work: u64) -> bool {
        self.allowance.take(work)
    }

    /// Puts together what is asked; nothing where no work is left for it.
    pub(in crate::signal) fn put_together<T>(
        &self,
        dag: &mut Dag,
        ask: impl FnOnce(&mut Dag) -> Result<T, TooLarge>,
    ) -> Result<T, TooLarge> {
        if self.allowance.is_spent() {
            return Err(TooLarge);
        }
        let before = dag.sizes();
        let found = ask(dag);
        let after = dag.sizes();
        self.allowance.take(((after.0 + after.1 - before.0 - before.1) / NODES_A_REGION) as u64);
        found
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
