//! The query over all reachable states.

use super::cone::Cone;
use super::eval::Eval;
use super::fix::Fix;
use super::memory::{Finder, Grouping, Groups, Memory};
use super::net::{Bit, BitId, Kind, Net, TooLarge, VarId};
use super::number::{fits, whole};
use super::parts::*;
use super::program::{Program, positions};
use super::question::{Answer, Kept, Movers, Proof, Question, Step, Why, Witness};
use super::region::{Cell, Group, Hint, Region, Scene, Tri};
use super::search::split;
use super::state::{Handle, Setting};
use std::rc::Rc;

/// What a program keeps from question to question.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub(super) net: Net,
    pub(super) memory: Memory,
    pub(super) region: Region,
}

/// Why a search ended early.
enum Stop {
    Found,
    Budget,
}

impl Program {
    /// Decides a question, whatever others know.
    pub(super) fn find(&self, question: &Question) -> Answer {
        let mut asked = std::iter::once(&question.state).chain(question.then.iter().map(|step| &step.reach));
        if asked.any(|condition| super::check::check_asked(&self.parts, condition).is_err()) {
            return Answer::NotDecided(Why::Budget);
        }
        self.search(question, &mut self.known()).unwrap_or(Answer::NotDecided(Why::Budget))
    }

    /// Whether a witness shows what was asked, played step by step.
    pub(super) fn replays(&self, question: &Question, witness: &Witness) -> bool {
        let mut steps = question.then.iter().enumerate();
        self.holds(&witness.path, &question.state) == Some(true)
            && steps.all(|(at, step)| self.holds(&witness.path_then(at), &step.reach) == Some(true))
    }

    /// The controls that can change a channel's value, also through latches; empty where the model does not define it.
    pub fn moved_by(&self, channel: u16) -> Vec<ControlId> {
        let net = &mut self.known().net;
        let Ok(num) = net.percent(self, channel) else { return Vec::new() };
        let vars = net.each_var(net.sort(num).cone.vars);
        let mut controls: Vec<ControlId> = vars
            .filter_map(|var| match net.vars[usize::from(var)].0 {
                Handle::Control(id) => Some(id),
                Handle::Trim(_) => None,
            })
            .collect();
        controls.sort_unstable();
        controls
    }

    pub(super) fn search(&self, question: &Question, known: &mut Known) -> Result<Answer, TooLarge> {
        let Known { net, memory, region } = known;
        let state = net.asked(self, &question.state)?;
        let reaches: Rc<[BitId]> =
            question.then.iter().map(|step| net.asked(self, &step.reach)).collect::<Result<_, _>>()?;
        for &(handle, _) in &question.fixed {
            net.var(self, handle)?;
        }
        let cone = reaches.iter().fold(*net.cone(state), |cone, &reach| cone.union(net.cone(reach)));
        let mut task = Task { program: self, net, question, state, reaches, budget: self.budget, open: None, cone };
        let answer = match task.decide(Grouping::Rough, memory, region) {
            (answer, true) => answer,
            (answer @ Answer::No(_), _) => answer,
            (Answer::Yes(witness), _) if self.replays(question, &witness) => Answer::Yes(witness),
            _ => {
                (task.budget, task.open) = (self.budget, None);
                task.decide(Grouping::Exact, memory, region).0
            }
        };
        if let Answer::Yes(witness) = &answer {
            debug_assert!(self.replays(question, witness), "a witness of {question:?} does not replay: {witness:?}");
        }
        Ok(answer)
    }
}

/// One control that moves in a step: its variable, or none where it moves nothing that matters.
#[derive(Clone, Copy, Debug)]
struct Mover {
    control: ControlId,
    var: Option<VarId>,
    trim: bool,
}

struct Task<'a> {
    program: &'a Program,
    net: &'a Net,
    question: &'a Question,
    state: BitId,
    reaches: Rc<[BitId]>,
    budget: u64,
    /// Something was not decided, and why.
    open: Option<Why>,
    cone: Cone,
}

impl Task<'_> {
    /// The answer, and whether it holds of what the latches can remember together.
    fn decide(&mut self, grouping: Grouping, memory: &mut Memory, region: &mut Region) -> (Answer, bool) {
        let mut finder = Finder { program: self.program, net: self.net, region, budget: &mut self.budget };
        match finder.groups(&self.cone, grouping, memory) {
            Ok(groups) => (self.run(&groups, region), groups.exact),
            Err(why) => (Answer::NotDecided(why), grouping == Grouping::Exact),
        }
    }

    fn run(&mut self, groups: &Groups, region: &mut Region) -> Answer {
        let whole = self.budget;
        if self.question.then.is_empty() {
            return match self.with(&[], groups, region) {
                Ok(Some(witness)) => Answer::Yes(witness),
                Ok(None) => self.none(whole),
                Err(why) => Answer::NotDecided(why),
            };
        }
        let choices: Vec<Vec<Mover>> = self.question.then.iter().map(|step| self.movers(step)).collect();
        let mut index = vec![0usize; choices.len()];
        if choices.iter().any(Vec::is_empty) {
            return Answer::No(Proof { regions: 1 });
        }
        loop {
            let movers: Vec<Mover> = choices.iter().zip(&index).map(|(list, &at)| list[at]).collect();
            match self.with(&movers, groups, region) {
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
            let discrete = positions(&control.kind).is_some();
            let stick = matches!(control.kind, ControlKind::Stick { .. });
            let allowed = match step.who {
                Movers::These(_) | Movers::Any => true,
                Movers::SwitchesAndButtons => discrete,
                Movers::NotSticks => !stick,
            };
            if !allowed {
                return;
            }
            let matters = |handle| self.net.find_var(handle).filter(|&var| self.cone.vars.has(var));
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

    fn with(&mut self, movers: &[Mover], groups: &Groups, region: &mut Region) -> Result<Option<Witness>, Why> {
        region.clear(self.net);
        if !keep(self.net, region, &self.question.fixed) {
            return Ok(None);
        }
        for (mover, step) in movers.iter().zip(&self.question.then) {
            let mut scene = Scene::first();
            scene.same_held = mover.var.is_none();
            if let Some(var) = mover.var {
                let cell = match (step.to, self.net.kind(var)) {
                    (Some(Setting::Position(at)), Kind::Switch(n)) if at < n => Cell::Mask(1 << at),
                    (Some(Setting::Percent(at)), Kind::Axis(reach)) if fits(at) => match kept_range(at, at, reach) {
                        Some(cell) => cell,
                        None => return Ok(None),
                    },
                    // What is kept stays kept, but for the one that moves within what it may be.
                    (None, _) => region.cells[usize::from(var)],
                    _ => return Ok(None),
                };
                scene.moved = Some((var, cell));
            }
            region.scenes.push(scene);
        }
        region.groups.extend(groups.list.iter().map(Group::of));
        let mut eval = Eval::new(self.program, self.net, region);
        match self.explore(&mut eval) {
            Ok(()) => Ok(None),
            Err(Stop::Budget) => Err(Why::Budget),
            Err(Stop::Found) => {
                let movers = movers.iter().map(|m| (m.control, m.trim));
                Ok(Some(super::witness::witness(&eval, &groups.list, self.question, movers)))
            }
        }
    }

    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Stop> {
        if !eval.region.spend(&mut self.budget) {
            return Err(Stop::Budget);
        }
        let reaches = Rc::clone(&self.reaches);
        let goals = std::iter::once((0, self.state)).chain((1..).zip(reaches.iter().copied()));
        eval.with(goals, |eval| self.look(eval))
    }

    /// Decides the region as it is, or cuts it.
    fn look(&mut self, eval: &mut Eval<'_>) -> Result<(), Stop> {
        match self.goals(eval) {
            Tri::True => Err(Stop::Found),
            Tri::False => Ok(()),
            Tri::Maybe(Hint::Close) => {
                self.open = self.open.or(Some(Why::TooClose));
                Ok(())
            }
            Tri::Maybe(Hint::NotKnown(channel)) => {
                self.open = self.open.or(Some(Why::NotKnown(channel)));
                Ok(())
            }
            Tri::Maybe(hint @ Hint::Atom(_, bit)) if matches!(self.net.bit(bit), Bit::Over { .. }) => {
                if eval.probe(&mut |eval| self.goals(eval) == Tri::True) {
                    return Err(Stop::Found);
                }
                split(eval, hint, &mut |eval| self.explore(eval))
            }
            Tri::Maybe(hint) => split(eval, hint, &mut |eval| self.explore(eval)),
        }
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
pub(super) fn keep(net: &Net, region: &mut Region, fixed: &[(Handle, Kept)]) -> bool {
    for &(handle, kept) in fixed {
        let Some(var) = net.find_var(handle) else { continue };
        let cell = match (kept, net.kind(var)) {
            (Kept::At(Setting::Position(at)), Kind::Switch(n)) if at < n => Some(Cell::Mask(1 << at)),
            (Kept::At(Setting::Percent(at)), Kind::Axis(reach)) if fits(at) => kept_range(at, at, reach),
            (Kept::Within(low, high), Kind::Axis(reach)) if fits(low) && fits(high) => kept_range(low, high, reach),
            _ => None,
        };
        let Some(cell) = cell else { return false };
        region.cells[usize::from(var)] = cell;
    }
    true
}

/// Whether a switch that moves goes to another position; an axis that moves may come to where it was.
fn differs(eval: &Eval<'_>, scene: usize) -> Tri {
    let Some((var, Cell::Mask(to))) = eval.region.scenes[scene].moved else { return Tri::True };
    let Cell::Mask(from) = eval.region.cells[usize::from(var)] else { return Tri::True };
    if from & to == 0 {
        Tri::True
    } else if from == to && from.count_ones() == 1 {
        Tri::False
    } else {
        Tri::Maybe(Hint::Apart(scene as u8))
    }
}

fn kept_range(low: super::number::Number, high: super::number::Number, reach: Fix) -> Option<Cell> {
    let (low, high) = (Fix::of(low).max(reach.negate()), Fix::of(high).min(reach));
    (low <= high).then_some(Cell::range(low, high))
}

/// Where a variable is put when anything in its cell will do: at rest where that is possible.
pub(super) fn pick(program: &Program, handle: Handle, cell: Cell) -> Setting {
    match cell {
        Cell::Mask(mask) => {
            let rest = match program.rest.get(handle) {
                Some(Setting::Position(rest)) if mask >> rest & 1 == 1 => rest,
                _ => mask.trailing_zeros() as u8,
            };
            Setting::Position(rest)
        }
        Cell::Range { low, high, low_open, high_open } => {
            let inside = |at: Fix| (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
            let rest = match program.rest.get(handle) {
                Some(Setting::Percent(rest)) => Fix::of(rest),
                _ => Fix::ZERO,
            };
            let middle = (low.near() + high.near()) / 2.0;
            // A round number reads better on the bench than an exact middle.
            let rounded = [1.0, 8.0, 1_024.0, 1_048_576.0].into_iter();
            let rounded = rounded.filter_map(|steps| Fix::dyadic((middle * steps).round() / steps));
            let found = [rest, low, high, Fix::ZERO].into_iter().chain(rounded).find(|&at| inside(at));
            let exact = || low.add(high)?.div(Fix::whole(2));
            Setting::Percent(found.or_else(exact).map_or(whole(0), Fix::number))
        }
    }
}
