//! States from which nothing leads out any more.

use super::cone::Cone;
use super::eval::Eval;
use super::memory::{self, Pasts};
use super::net::{BitId, Net, TooLarge};
use super::parts::Condition;
use super::program::Program;
use super::query::{Known, kept_cells};
use super::question::{Answer, Proof, Question, Why};
use super::region::{Group, Hint, Scene, Tri};
use super::search::split;

impl Program {
    /// Is there a reachable state in which `inside` holds and from which no movements, however many and of however many
    /// controls at once, lead to one in which `outside` holds? A yes is proved for every movement; its witness leads to
    /// the state.
    pub fn trapped(&self, inside: &Condition, outside: &Condition) -> Answer {
        let sound = [inside, outside].iter().all(|asked| super::check::check_asked(&self.parts, asked).is_ok());
        let found = {
            let mut known = self.known.borrow_mut();
            if sound { self.hopeless(inside, outside, &mut known) } else { Err(TooLarge) }
        };
        match found {
            Err(TooLarge) => Answer::NotDecided(Why::Budget),
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
    #[allow(clippy::type_complexity)]
    fn hopeless(
        &self,
        inside: &Condition,
        outside: &Condition,
        known: &mut Known,
    ) -> Result<Result<Option<Vec<(super::parts::ConditionId, bool)>>, Why>, TooLarge> {
        let (inside, outside) = (known.net.asked(self, inside)?, known.net.asked(self, outside)?);
        let net = &known.net;
        let cone = Cone::of(net, &[inside, outside], &[]);
        if cone.latches == 0 && cone.tests == 0 {
            // Without a past any state can be left for any other.
            let mut budget = self.budget;
            let mut way = Way { goal: outside, budget: &mut budget, found: false };
            let Some(cells) = kept_cells(net, &[]) else { return Ok(Ok(None)) };
            let mut eval = Eval::new(self, net, cells, vec![Scene::first()]);
            return Ok(way.explore(&mut eval).map(|()| if way.found { None } else { Some(Vec::new()) }));
        }
        let mut budget = self.budget;
        let pasts = match memory::together(self, net, cone.latches, cone.tests, &cone.vars, &mut budget) {
            Ok(pasts) => pasts,
            Err(why) => return Ok(Err(why)),
        };
        Ok(self.without_hope(net, &pasts, outside, inside, &mut budget))
    }

    fn without_hope(
        &self,
        net: &Net,
        pasts: &Pasts,
        outside: BitId,
        inside: BitId,
        budget: &mut u64,
    ) -> Result<Option<Vec<(super::parts::ConditionId, bool)>>, Why> {
        let count = pasts.list.len();
        let mut hope =
            (0..count).map(|at| self.leads(net, pasts, at, outside, budget)).collect::<Result<Vec<bool>, Why>>()?;
        let edges = memory::edges(self, net, pasts, budget)?;
        loop {
            let more: Vec<usize> =
                (0..count).filter(|&at| !hope[at] && edges[at].iter().any(|&next| hope[usize::from(next)])).collect();
            if more.is_empty() {
                break;
            }
            more.into_iter().for_each(|at| hope[at] = true);
        }
        // A past without hope counts where a state with it, or one more moment after it, is inside.
        let mut unclear = false;
        for at in (0..count).filter(|&at| !hope[at]) {
            if self.leads(net, pasts, at, inside, budget)? {
                // The witness is asked for by its latches alone, so they must tell it from every past with hope.
                if (0..count).any(|other| hope[other] && pasts.list[other].latches == pasts.list[at].latches) {
                    unclear = true;
                    continue;
                }
                let on = pasts.list[at].latches;
                let latches = (0..64).filter(|latch| pasts.latches >> latch & 1 == 1);
                let latches =
                    latches.filter_map(|latch| Some((net.latch_condition(latch as u8)?, on >> latch & 1 == 1)));
                return Ok(Some(latches.collect()));
            }
        }
        if unclear { Err(Why::History) } else { Ok(None) }
    }

    /// Whether one more moment after a past can satisfy a goal.
    fn leads(&self, net: &Net, pasts: &Pasts, at: usize, goal: BitId, budget: &mut u64) -> Result<bool, Why> {
        let Some(cells) = kept_cells(net, &[]) else { return Ok(false) };
        let mut eval = Eval::new(self, net, cells, vec![Scene::first()]);
        let mut group = Group::of(pasts);
        group.pasts = vec![(pasts.list[at].latches, pasts.list[at].tests)];
        group.chosen = Some(0);
        eval.groups = vec![group];
        let mut way = Way { goal, budget, found: false };
        way.explore(&mut eval)?;
        Ok(way.found)
    }
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
        *self.budget = self.budget.checked_sub(1).ok_or(Why::Budget)?;
        eval.fresh();
        match eval.bit(0, self.goal) {
            Tri::True => self.found = true,
            Tri::False => {}
            Tri::Maybe(Hint::Close) => return Err(Why::TooClose),
            Tri::Maybe(Hint::NotKnown(channel)) => return Err(Why::NotKnown(channel)),
            Tri::Maybe(hint) => return split(eval, hint, &mut |eval| self.explore(eval)),
        }
        Ok(())
    }
}
