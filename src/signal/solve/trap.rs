//! States from which nothing leads out any more.

use crate::signal::program::check::check_asked;
use crate::signal::program::parts::{Condition, ConditionId};
use crate::signal::program::reason::Unstated;
use crate::signal::solve::branch::branch;
use crate::signal::solve::dag::{BitId, TooLarge};
use crate::signal::solve::domains::{Hint, Tri};
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::latch_states::Finder;
use crate::signal::solve::pasts::{Group, Pasts};
use crate::signal::solve::program::{Program, SearchState};
use crate::signal::solve::question::{Answer, Proof, Question, Why};
use std::rc::Rc;

/// The latches of a past from which there is no way out, with their states.
type Hopeless = Option<Vec<(ConditionId, bool)>>;

impl Program {
    /// Is there a reachable state in which `inside` holds and from which no movements, however many and of however many
    /// controls at once, lead to one in which `outside` holds? A yes is proved for every movement; its witness leads to
    /// the state.
    pub fn trapped(&self, inside: &Condition, outside: &Condition) -> Answer {
        self.shared(|row| row.trapped(inside, outside), || self.find_trapped(inside, outside))
    }

    fn find_trapped(&self, inside: &Condition, outside: &Condition) -> Answer {
        if [inside, outside].iter().any(|asked| check_asked(self.parts(), asked).is_err()) {
            return Answer::NotDecided(Why::Malformed);
        }
        if let Some(why) = self.not_known([inside, outside], None) {
            return Answer::NotDecided(why);
        }
        let found = self.hopeless(inside, outside, &mut self.kept());
        match found {
            Err(TooLarge) => Answer::NotDecided(self.too_large()),
            Ok(Err(why)) => Answer::NotDecided(why),
            Ok(Ok(None)) => Answer::No(Proof { regions: 1 }),
            // The pasts without hope are told by which latches are on; a state with these is asked for.
            Ok(Ok(Some(latches))) => {
                let on = latches.into_iter().map(|(condition, on)| {
                    let named = Condition::Named(condition);
                    if on { named } else { Condition::Not(Box::new(named)) }
                });
                let mut all = vec![inside.clone()];
                all.extend(on);
                match self.ask(&Question::is(Condition::All(all))) {
                    Answer::No(_) => Answer::NotDecided(Why::History),
                    answer => answer,
                }
            }
        }
    }

    /// The latches of a past from which there is no way out, with their states.
    fn hopeless(
        &self,
        inside: &Condition,
        outside: &Condition,
        kept: &mut SearchState,
    ) -> Result<Result<Hopeless, Why>, TooLarge> {
        let SearchState { dag, domains, .. } = kept;
        let (inside, outside) =
            self.put_together(dag, |dag| Ok((dag.asked(self, inside)?, dag.asked(self, outside)?)))?;
        let cone = dag.cone(inside).union(dag.cone(outside));
        // Wider trims lead into more states and out of more: nothing follows from the widest there can be.
        if !self.unstated_trims(dag, &cone, &[]).is_empty() {
            return Ok(Err(Why::NotStated(Unstated::TrimRange)));
        }
        Ok(self.spending(|budget| {
            let mut finder = Finder { program: self, dag, domains, budget };
            if cone.latches == 0 && cone.tests == 0 {
                // Without a past any state can be left for any other.
                let way = leads(&mut finder, None, outside);
                return way.map(|found| if found { None } else { Some(Vec::new()) });
            }
            let pasts = finder.together(&cone)?;
            without_hope(&mut finder, &pasts, outside, inside)
        }))
    }
}

fn without_hope(finder: &mut Finder<'_>, pasts: &Pasts, outside: BitId, inside: BitId) -> Result<Hopeless, Why> {
    let count = pasts.list.len();
    let mut hope =
        (0..count).map(|past| leads(finder, Some((pasts, past)), outside)).collect::<Result<Vec<bool>, Why>>()?;
    let edges = finder.edges(pasts)?;
    // Hope goes back from past to past, each once.
    let mut before: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (at, next) in edges.iter().enumerate() {
        next.iter().for_each(|&next| before[usize::from(next)].push(at));
    }
    let mut new: Vec<usize> = (0..count).filter(|&at| hope[at]).collect();
    while let Some(at) = new.pop() {
        for &known in &before[at] {
            if !std::mem::replace(&mut hope[known], true) {
                new.push(known);
            }
        }
    }
    // A past without hope counts where a state with it, or one more moment after it, is inside.
    let mut unclear = false;
    for at in (0..count).filter(|&at| !hope[at]) {
        if leads(finder, Some((pasts, at)), inside)? {
            // The witness is asked for by its latches alone, so they must tell it from every past with hope.
            let on = pasts.list[at].what.latches;
            if (0..count).any(|other| hope[other] && pasts.list[other].what.latches == on) {
                unclear = true;
                continue;
            }
            let latches = (0..).zip(&finder.dag.latch_ids).filter(|(latch, _)| pasts.all.latches >> latch & 1 == 1);
            return Ok(Some(latches.map(|(latch, &(condition, _))| (condition, on >> latch & 1 == 1)).collect()));
        }
    }
    if unclear { Err(Why::History) } else { Ok(None) }
}

/// Whether one more moment, after a past if there is one, can satisfy a goal.
fn leads(finder: &mut Finder<'_>, past: Option<(&Pasts, usize)>, goal: BitId) -> Result<bool, Why> {
    finder.domains.clear(finder.dag);
    finder.domains.groups.extend(past.map(|(pasts, past)| Group::of(&Rc::new(pasts.part(past..past + 1)))));
    let mut way = Way { goal, budget: finder.budget, found: false };
    way.explore(&mut Eval::new(finder.program, finder.dag, finder.domains))?;
    Ok(way.found)
}

struct Way<'a> {
    goal: BitId,
    budget: &'a mut u64,
    found: bool,
}

impl Way<'_> {
    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        if self.found {
            return Ok(());
        }
        if !eval.domains.spend(self.budget) {
            return Err(Why::Budget);
        }
        eval.with(std::iter::once((0, self.goal)), |eval| self.visit(eval))
    }

    fn visit(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        match eval.bit(0, self.goal) {
            Tri::True => self.found = true,
            Tri::False => {}
            Tri::Maybe(Hint::Close(..)) => return Err(Why::TooClose),
            Tri::Maybe(Hint::NotKnown(channel)) => return Err(Why::NotKnown(channel)),
            Tri::Maybe(hint) => return branch(eval, hint, &mut |eval| self.explore(eval)),
        }
        Ok(())
    }
}
