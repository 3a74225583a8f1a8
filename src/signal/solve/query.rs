//! The query over all reachable states.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::check::check_asked;
use crate::signal::program::parts::*;
use crate::signal::program::reason::{Unknown, Unstated};
use crate::signal::program::state::{Handle, Setting};
use crate::signal::solve::branch::branch;
use crate::signal::solve::cache_key::{Writer, Written};
use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::Cone;
use crate::signal::solve::dag::{Bit, BitId, Dag, Kind, TooLarge, VarId};
use crate::signal::solve::domains::{Domains, Hint, Scene, Tri};
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::latch_states::{Finder, Grouping, Groups, LatchStates};
use crate::signal::solve::pasts::Group;
use crate::signal::solve::program::{Program, SearchState};
use crate::signal::solve::query_cache::{Key, Looked, Settled};
use crate::signal::solve::question::{Answer, Kept, Movers, Proof, Question, Step, Why, Witness};
use crate::signal::solve::witness::witness;
use std::rc::Rc;

/// Why a search ended early.
enum Stop {
    Found,
    Budget,
}

impl Program {
    /// Decides a question.
    pub fn ask(&self, question: &Question) -> Answer {
        self.shared(|row| row.question(question), || self.find(question))
    }

    /// Whether there is a reachable state as asked for, without showing it: a fraction of the work where programs share
    /// their answers ([`Program::with_answers`]).
    ///
    /// # Errors
    /// Why it was not decided.
    pub fn decide(&self, question: &Question) -> Result<bool, Why> {
        let answer = match self.look_up(|row| row.question(question)) {
            Looked::Found(settled, work) if self.pay(work) => return Ok(settled == Settled::Yes),
            Looked::Found(..) => return Err(Why::Budget),
            Looked::New(key) => self.remembered(key, || self.find(question)),
            Looked::NoRow => self.find(question),
        };
        match answer {
            Answer::Yes(_) => Ok(true),
            Answer::No(_) => Ok(false),
            Answer::NotDecided(why) => Err(why),
        }
    }

    /// An answer that others may have proved. A yes is found anew, since its state is shown.
    pub(in crate::signal) fn shared(
        &self,
        write: impl FnOnce(&mut Writer<'_>) -> Written,
        find: impl FnOnce() -> Answer,
    ) -> Answer {
        match self.look_up(write) {
            Looked::Found(Settled::No(regions), work) if self.pay(work) => Answer::No(Proof { regions }),
            Looked::Found(Settled::No(_), _) => Answer::NotDecided(Why::Budget),
            Looked::New(key) => self.remembered(key, find),
            _ => find(),
        }
    }

    /// What programs that share answers know of a row.
    pub(in crate::signal) fn look_up(&self, write: impl FnOnce(&mut Writer<'_>) -> Written) -> Looked {
        self.answers.as_ref().map_or(Looked::NoRow, |answers| answers.look_up(self, &mut self.ids.borrow_mut(), write))
    }

    /// The answer, kept for other programs where it was decided.
    fn remembered(&self, key: Key, find: impl FnOnce() -> Answer) -> Answer {
        let before = self.allowance().spent();
        let answer = find();
        let settled = match &answer {
            Answer::Yes(_) => Some(Settled::Yes),
            Answer::No(proof) => Some(Settled::No(proof.regions)),
            Answer::NotDecided(_) => None,
        };
        if let (Some(answers), Some(settled)) = (&self.answers, settled) {
            answers.keep(key, settled, self.allowance().spent() - before);
        }
        answer
    }

    /// Decides a question, whatever others know.
    pub(in crate::signal) fn find(&self, question: &Question) -> Answer {
        let mut asked = std::iter::once(&question.state).chain(question.then.iter().map(|step| &step.reach));
        if asked.clone().any(|condition| check_asked(&self.parts, condition).is_err()) {
            return Answer::NotDecided(Why::Malformed);
        }
        if let Some(why) = self.not_known(&mut asked, None) {
            return Answer::NotDecided(why);
        }
        self.search(question, &mut self.kept()).unwrap_or_else(|TooLarge| Answer::NotDecided(self.too_large()))
    }

    /// Whether a witness shows what was asked, played step by step.
    pub(in crate::signal) fn replays(&self, question: &Question, witness: &Witness) -> bool {
        let mut steps = question.then.iter().enumerate();
        self.holds(&witness.path, &question.state) == Some(true)
            && steps.all(|(at, step)| self.holds(&witness.path_then(at), &step.reach) == Some(true))
    }

    /// The controls that can change a channel's value, also through latches; none where the model does not define it.
    ///
    /// # Errors
    /// Why that is not known. It does not mean that nothing moves the channel.
    pub fn moved_by(&self, channel: u16) -> Result<Vec<ControlId>, Why> {
        if self.channel(channel).is_none() && self.parts().elsewhere.is_none() {
            return Ok(Vec::new());
        }
        if let Some(why) = self.not_known([], Some((channel, Measure::Percent))) {
            return Err(why);
        }
        let dag = &mut self.kept().dag;
        let num = self.put_together(dag, |dag| dag.percent(self, channel)).map_err(|TooLarge| self.too_large())?;
        let cone = &dag.sort(num).cone;
        let vars = dag.each_var(cone.vars);
        let mut controls: Vec<ControlId> = vars
            .filter_map(|var| match dag.vars[usize::from(var)].0 {
                Handle::Control(id) => Some(id),
                Handle::Trim(_) => None,
            })
            .collect();
        controls.sort_unstable();
        Ok(controls)
    }

    /// Whether a control can change a channel's value, as [`Self::moved_by`] says.
    ///
    /// # Errors
    /// As [`Self::moved_by`].
    pub fn moves(&self, control: ControlId, channel: u16) -> Result<bool, Why> {
        let named = self.mentions(channel).controls.contains(&control);
        Ok((named || self.parts().elsewhere.is_some()) && self.moved_by(channel)?.contains(&control))
    }

    /// Why something can't be put together.
    pub(in crate::signal) fn too_large(&self) -> Why {
        if self.allowance().is_spent() { Why::Budget } else { Why::TooLarge }
    }

    /// Why nothing is said about these: a part that they depend on is not known.
    pub(in crate::signal) fn not_known<'c>(
        &self,
        conditions: impl IntoIterator<Item = &'c Condition>,
        channel: Option<(u16, Measure)>,
    ) -> Option<Why> {
        self.unknown_among(conditions, channel).map(|unknown| match unknown {
            Unknown::NotUnderstood(place, reason) if reason.is_limit() => Why::BeyondLimits(*place),
            Unknown::NotUnderstood(place, _) => Why::NotUnderstood(*place),
            Unknown::NotStated(what) => Why::NotStated(*what),
        })
    }

    /// The trims among these whose ranges are not stated, and that the question does not keep centred.
    pub(in crate::signal) fn unstated_trims(&self, dag: &Dag, cone: &Cone, fixed: &[(Handle, Kept)]) -> Vec<Handle> {
        if !self.parts().trims_unstated {
            return Vec::new();
        }
        let centred = Kept::At(Setting::Percent(whole(0)));
        let trims = self.controls().map(|(id, _)| Handle::Trim(id));
        trims
            .filter(|trim| dag.find_var(*trim).is_some_and(|var| cone.vars.has(var)))
            .filter(|trim| !fixed.contains(&(*trim, centred)))
            .collect()
    }

    pub(in crate::signal) fn search(&self, question: &Question, kept: &mut SearchState) -> Result<Answer, TooLarge> {
        let SearchState { dag, latch_states, domains } = kept;
        let (state, reaches) = self.put_together(dag, |dag| {
            let state = dag.asked(self, &question.state)?;
            let reaches = question.then.iter().map(|step| dag.asked(self, &step.reach));
            let reaches: Rc<[BitId]> = reaches.collect::<Result<_, _>>()?;
            question.fixed.iter().try_for_each(|&(handle, _)| dag.var(self, handle).map(drop))?;
            Ok((state, reaches))
        })?;
        let cone = reaches.iter().fold(*dag.cone(state), |cone, &reach| cone.union(dag.cone(reach)));
        let trims = self.unstated_trims(dag, &cone, &question.fixed);
        let mut task = Task { program: self, dag, question, state, reaches, budget: 0, open: None, cone };
        let answer = task.answer(latch_states, domains);
        if trims.is_empty() || answer.is_no() || answer.witness().is_some_and(Witness::is_without_trims) {
            return Ok(answer);
        }
        // What holds with the widest trims there can be is not known to hold with these: centred, they can all be.
        let Some(fixed) = centred(&question.fixed, &trims) else {
            return Ok(Answer::NotDecided(Why::NotStated(Unstated::TrimRange)));
        };
        let at_rest = Question { fixed, ..question.clone() };
        let mut task = Task { question: &at_rest, ..task };
        Ok(match task.answer(latch_states, domains) {
            Answer::No(_) => Answer::NotDecided(Why::NotStated(Unstated::TrimRange)),
            answer => answer,
        })
    }
}

/// What is kept, with these trims centred; `None` where one is kept elsewhere.
pub(in crate::signal) fn centred(fixed: &[(Handle, Kept)], trims: &[Handle]) -> Option<Vec<(Handle, Kept)>> {
    let holds_centre = |kept: &Kept| match *kept {
        Kept::At(at) => at == Setting::Percent(whole(0)),
        Kept::Within(low, high) => low <= whole(0) && whole(0) <= high,
    };
    let elsewhere = fixed.iter().any(|(handle, kept)| trims.contains(handle) && !holds_centre(kept));
    let centred = trims.iter().map(|&trim| (trim, Kept::At(Setting::Percent(whole(0)))));
    (!elsewhere).then(|| fixed.iter().copied().chain(centred).collect())
}

/// One control that moves in a step: its variable, or none where it moves nothing that matters.
#[derive(Clone, Copy, Debug)]
struct Mover {
    control: ControlId,
    var: Option<VarId>,
    trim: bool,
}

/// One part in so many of a question's budget is spared for trying single places.
const SPARED: u64 = 4;

/// How many places are tried, and on how many an axis may stand there: a prime, so that no two axes keep step.
const LATTICE: u64 = 31;

struct Task<'a> {
    program: &'a Program,
    dag: &'a Dag,
    question: &'a Question,
    state: BitId,
    reaches: Rc<[BitId]>,
    budget: u64,
    /// Something was not decided, and why.
    open: Option<Why>,
    cone: Cone,
}

impl Task<'_> {
    /// The answer, found with rough groups of latches where that is enough.
    fn answer(&mut self, latch_states: &mut LatchStates, domains: &mut Domains) -> Answer {
        let answer = match self.decide(Grouping::Rough, latch_states, domains) {
            (answer, true) => answer,
            (answer @ Answer::No(_), _) => answer,
            (Answer::Yes(witness), _) if self.program.replays(self.question, &witness) => Answer::Yes(witness),
            _ => match self.decide(Grouping::Exact, latch_states, domains) {
                // Some of what is said to be remembered can perhaps not be come to.
                (Answer::Yes(witness), false) if !self.program.replays(self.question, &witness) => {
                    Answer::NotDecided(Why::History)
                }
                (answer, _) => answer,
            },
        };
        if let Answer::Yes(witness) = &answer {
            let question = self.question;
            debug_assert!(self.program.replays(question, witness), "no witness of {question:?}: {witness:?}");
        }
        answer
    }

    /// The answer, and whether it holds of what the latches can remember together.
    fn decide(&mut self, grouping: Grouping, latch_states: &mut LatchStates, domains: &mut Domains) -> (Answer, bool) {
        self.program.spending(|budget| {
            (self.budget, self.open) = (*budget, None);
            let found = self.decide_within(grouping, latch_states, domains);
            *budget = self.budget;
            found
        })
    }

    fn decide_within(
        &mut self,
        grouping: Grouping,
        latch_states: &mut LatchStates,
        domains: &mut Domains,
    ) -> (Answer, bool) {
        let mut finder = Finder { program: self.program, dag: self.dag, domains, budget: &mut self.budget };
        match finder.groups(&self.cone, grouping, latch_states) {
            Ok(groups) => (self.run(&groups, domains), groups.exact),
            Err(why) => (Answer::NotDecided(why), grouping == Grouping::Exact),
        }
    }

    /// The answer; where the whole is too much to look at, single places are tried.
    fn run(&mut self, groups: &Groups, domains: &mut Domains) -> Answer {
        let spared = self.budget / SPARED;
        self.budget -= spared;
        let answer = self.look(groups, domains, None);
        self.budget += spared;
        if !matches!(answer, Answer::NotDecided(Why::Budget)) {
            return answer;
        }
        let mut left = self.budget;
        for place in 0..LATTICE {
            self.budget = spared / LATTICE;
            left -= self.budget;
            let found = self.look(groups, domains, Some(place));
            left += self.budget;
            if found.witness().is_some() {
                self.budget = left;
                return found;
            }
        }
        self.budget = left;
        answer
    }

    /// Looks for what is asked: everywhere, or with all axes at one place.
    fn look(&mut self, groups: &Groups, domains: &mut Domains, place: Option<u64>) -> Answer {
        let whole = self.budget;
        let choices: Vec<Vec<Mover>> = self.question.then.iter().map(|step| self.movers(step)).collect();
        let mut index = vec![0usize; choices.len()];
        if choices.iter().any(Vec::is_empty) {
            return Answer::No(Proof { regions: 1 });
        }
        loop {
            let movers: Vec<Mover> = choices.iter().zip(&index).map(|(list, &at)| list[at]).collect();
            match self.with(&movers, groups, domains, place) {
                Ok(None) => {}
                Ok(Some(witness)) => return Answer::Yes(witness),
                Err(why) => return Answer::NotDecided(why),
            }
            // The next choice of movers.
            let mut at = 0;
            while at < index.len() {
                index[at] += 1;
                if index[at] < choices[at].len() {
                    break;
                }
                index[at] = 0;
                at += 1;
            }
            if at == index.len() {
                break;
            }
        }
        self.none(whole)
    }

    /// The answer where nothing was found.
    const fn none(&self, whole: u64) -> Answer {
        match self.open {
            Some(why) => Answer::NotDecided(why),
            None => Answer::No(Proof { regions: whole - self.budget }),
        }
    }

    fn movers(&self, step: &Step) -> Vec<Mover> {
        let controls = &self.program.parts.controls;
        let mut list = Vec::new();
        let mut idle = None;
        let mut add = |id: ControlId| {
            let Some(control) = controls.get(usize::from(id.0)) else { return };
            let allowed = match step.who {
                Movers::These(_) | Movers::Any => true,
                Movers::SwitchesAndButtons => {
                    matches!(control.kind, ControlKind::Switch { .. } | ControlKind::Button { .. })
                }
                Movers::NotSticks => !matches!(control.kind, ControlKind::Stick { .. } | ControlKind::Reported),
            };
            if !allowed {
                return;
            }
            let matters = |handle| self.dag.find_var(handle).filter(|&var| self.cone.vars.has(var));
            match matters(Handle::Control(id)) {
                None => idle = idle.or(Some(Mover { control: id, var: None, trim: false })),
                var => list.push(Mover { control: id, var, trim: false }),
            }
            if step.who == Movers::Any
                && let Some(var) = matters(Handle::Trim(id))
            {
                list.push(Mover { control: id, var: Some(var), trim: true });
            }
        };
        match &step.who {
            Movers::These(these) => these.iter().for_each(|&id| add(id)),
            _ => self.program.controls().for_each(|(id, _)| add(id)),
        }
        list.extend(idle);
        list
    }

    fn with(
        &mut self,
        movers: &[Mover],
        groups: &Groups,
        domains: &mut Domains,
        place: Option<u64>,
    ) -> Result<Option<Witness>, Why> {
        domains.clear(self.dag);
        if !keep(self.dag, domains, &self.question.fixed) {
            return Ok(None);
        }
        if let Some(place) = place {
            self.put(domains, place);
        }
        for (mover, step) in movers.iter().zip(&self.question.then) {
            let mut scene = Scene::first();
            scene.same_held = mover.var.is_none();
            if let Some(var) = mover.var {
                let cell = match (step.to, self.dag.kind(var)) {
                    (Some(Setting::Position(at)), Kind::Switch(n)) if at < n => Cell::Mask(1 << at),
                    (Some(Setting::Percent(at)), Kind::Axis(reach)) => match kept_range(at, at, reach) {
                        Some(cell) => cell,
                        None => return Ok(None),
                    },
                    // What is kept stays kept, but for the one that moves within what it may be.
                    (None, _) => domains.cells[usize::from(var)],
                    _ => return Ok(None),
                };
                scene.moved = Some((var, cell));
            }
            domains.scenes.push(scene);
        }
        domains.groups.extend(groups.list.iter().map(Group::of));
        let mut eval = Eval::new(self.program, self.dag, domains);
        match self.explore(&mut eval) {
            Ok(()) => Ok(None),
            Err(Stop::Budget) => Err(Why::Budget),
            Err(Stop::Found) => {
                let movers = movers.iter().map(|m| (m.control, m.trim));
                Ok(Some(witness(self.program, &eval, &groups.list, self.question, movers)))
            }
        }
    }

    /// Puts every axis that matters to one place of its stretch: those of a lattice, which are spread evenly. Trims are at rest in
    /// every second one.
    fn put(&self, domains: &mut Domains, place: u64) {
        let vars = self.dag.each_var(self.cone.vars);
        for (at, var) in (1..).zip(vars) {
            let (handle, _) = self.dag.vars[usize::from(var)];
            let Cell::Range { low, high, .. } = domains.cells[usize::from(var)] else { continue };
            let part = (place * (2 * at + 1) % LATTICE) as i64;
            let rests =
                matches!(handle, Handle::Trim(_)) && place.is_multiple_of(2) && low <= whole(0) && high >= whole(0);
            let put = match rests {
                true => Some(whole(0)),
                false => {
                    high.sub(low).and_then(|width| width.mul(Rational64::new(part, LATTICE as i64 - 1)?)?.add(low))
                }
            };
            if let Some(put) = put {
                domains.cells[usize::from(var)] = Cell::range(put, put);
            }
        }
    }

    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Stop> {
        if !eval.domains.spend(&mut self.budget) {
            return Err(Stop::Budget);
        }
        let reaches = Rc::clone(&self.reaches);
        let goals = std::iter::once((0, self.state)).chain((1..).zip(reaches.iter().copied()));
        eval.with(goals, |eval| self.visit(eval))
    }

    /// Decides the region as it is, or cuts it.
    fn visit(&mut self, eval: &mut Eval<'_>) -> Result<(), Stop> {
        match self.goals(eval) {
            Tri::True if eval.domains.supposed.is_empty() => Err(Stop::Found),
            Tri::False => Ok(()),
            // A value that does not change comes out the same way in each moment.
            Tri::Maybe(Hint::Close(scene, bit))
                if self.open.is_none() && !matches!(self.dag.bit(bit), Bit::Unknown(_)) =>
            {
                self.suppose(eval, scene, bit)
            }
            Tri::True | Tri::Maybe(Hint::Close(..)) => {
                self.open = self.open.or(Some(Why::TooClose));
                Ok(())
            }
            Tri::Maybe(Hint::NotKnown(channel)) => {
                self.open = self.open.or(Some(Why::NotKnown(channel)));
                Ok(())
            }
            Tri::Maybe(hint @ Hint::Atom(_, bit)) if matches!(self.dag.bit(bit), Bit::Over { .. }) => {
                if eval.domains.supposed.is_empty() && eval.probe(&mut |eval| self.goals(eval) == Tri::True) {
                    return Err(Stop::Found);
                }
                branch(eval, hint, &mut |eval| self.explore(eval))
            }
            Tri::Maybe(hint) => branch(eval, hint, &mut |eval| self.explore(eval)),
        }
    }

    /// Looks at the region with a comparison that nothing decides supposed to come out each way.
    fn suppose(&mut self, eval: &mut Eval<'_>, scene: u8, bit: BitId) -> Result<(), Stop> {
        let vars = self.dag.cone(bit).vars;
        for way in [true, false] {
            eval.domains.supposed.push((scene, bit, way));
            eval.domains.changed(vars);
            self.explore(eval)?;
            eval.domains.supposed.pop();
        }
        eval.domains.changed(vars);
        Ok(())
    }

    /// Whether everything that is asked holds in its moment.
    fn goals(&self, eval: &mut Eval<'_>) -> Tri {
        let mut maybe: Option<Hint> = None;
        let scenes = self.reaches.len();
        for goal in 0..=2 * scenes {
            let found = match goal {
                0 => eval.bit(0, self.state),
                at if at <= scenes => eval.bit(at as u8, self.reaches[at - 1]),
                at => differs(eval, at - scenes),
            };
            match found {
                Tri::False => return Tri::False,
                Tri::Maybe(hint) if maybe.is_none_or(|known| !known.leads_on()) => maybe = Some(hint),
                _ => {}
            }
        }
        maybe.map_or(Tri::True, Tri::Maybe)
    }
}

/// Keeps handles where they are said to be; false where one can't be there.
pub(in crate::signal) fn keep(dag: &Dag, domains: &mut Domains, fixed: &[(Handle, Kept)]) -> bool {
    for &(handle, kept) in fixed {
        let Some(var) = dag.find_var(handle) else { continue };
        let cell = match (kept, dag.kind(var)) {
            (Kept::At(Setting::Position(at)), Kind::Switch(n)) if at < n => Some(Cell::Mask(1 << at)),
            (Kept::At(Setting::Percent(at)), Kind::Axis(reach)) => kept_range(at, at, reach),
            (Kept::Within(low, high), Kind::Axis(reach)) => kept_range(low, high, reach),
            _ => None,
        };
        let Some(cell) = cell else { return false };
        domains.cells[usize::from(var)] = cell;
    }
    true
}

/// Whether a switch that moves goes to another position; an axis that moves may come to where it was.
fn differs(eval: &Eval<'_>, scene: usize) -> Tri {
    let Some((var, Cell::Mask(to))) = eval.domains.scenes[scene].moved else { return Tri::True };
    let Cell::Mask(from) = eval.domains.cells[usize::from(var)] else { return Tri::True };
    if from & to == 0 {
        Tri::True
    } else if from == to && from.count_ones() == 1 {
        Tri::False
    } else {
        Tri::Maybe(Hint::Apart(scene as u8))
    }
}

fn kept_range(low: Rational64, high: Rational64, reach: Rational64) -> Option<Cell> {
    let (low, high) = (low.max(reach.negate()), high.min(reach));
    (low <= high).then_some(Cell::range(low, high))
}
