//! The query over all reachable states.

use super::cone::Cone;
use super::eval::Eval;
use super::fix::Fix;
use super::memory::{self, Pasts};
use super::net::{BitId, Kind, Net, TooLarge, VarId};
use super::number::{fits, whole};
use super::parts::*;
use super::program::{Program, positions};
use super::question::{Answer, Kept, Movers, Proof, Question, Step, Why, Witness};
use super::region::{Cell, Group, Hint, Scene, Tri};
use super::search::split;
use super::state::{Handle, Setting};
use rustc_hash::FxHashMap;
use std::rc::Rc;

/// What a program keeps from question to question.
#[derive(Clone, Debug, Default)]
pub(super) struct Known {
    pub(super) net: Net,
    pub(super) pasts: FxHashMap<(u64, u64), Result<Rc<Pasts>, Why>>,
}

/// Why a search ended early.
enum Stop {
    Found,
    Budget,
}

impl Program {
    /// Decides a question.
    pub fn ask(&self, question: &Question) -> Answer {
        let asked = std::iter::once(&question.state).chain(question.then.iter().map(|step| &step.reach));
        if asked.into_iter().any(|condition| super::check::check_asked(&self.parts, condition).is_err()) {
            return Answer::NotDecided(Why::Budget);
        }
        let mut known = self.known.borrow_mut();
        let known = &mut *known;
        self.search(question, known).unwrap_or(Answer::NotDecided(Why::Budget))
    }

    /// The controls that can change a channel's value, also through latches; empty where the model does not define it.
    pub fn moved_by(&self, channel: u16) -> Vec<ControlId> {
        let mut known = self.known.borrow_mut();
        let Ok(num) = known.net.percent(self, channel) else { return Vec::new() };
        let cone = Cone::of(&known.net, &[], &[num]);
        let mut controls: Vec<ControlId> = cone
            .vars
            .iter()
            .filter_map(|&var| match known.net.vars[usize::from(var)].0 {
                Handle::Control(id) => Some(id),
                Handle::Trim(_) => None,
            })
            .collect();
        controls.sort_unstable();
        controls
    }

    fn search(&self, question: &Question, known: &mut Known) -> Result<Answer, TooLarge> {
        let state = known.net.asked(self, &question.state)?;
        let reaches: Vec<BitId> =
            question.then.iter().map(|step| known.net.asked(self, &step.reach)).collect::<Result<_, _>>()?;
        for &(handle, _) in &question.fixed {
            known.net.seen(self, handle)?;
        }
        let mut bits = vec![state];
        bits.extend(&reaches);
        let cone = Cone::of(&known.net, &bits, &[]);
        let mut budget = self.budget;
        let groups = match memory::groups(self, &known.net, cone.latches, cone.tests, &mut budget, &mut known.pasts) {
            Ok(groups) => groups,
            Err(why) => return Ok(Answer::NotDecided(why)),
        };
        let mut task =
            Task { program: self, net: &known.net, question, state, reaches, groups, budget, open: None, cone };
        Ok(task.run())
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
    reaches: Vec<BitId>,
    groups: Vec<Rc<Pasts>>,
    budget: u64,
    /// Something was not decided, and why.
    open: Option<Why>,
    cone: Cone,
}

impl Task<'_> {
    fn run(&mut self) -> Answer {
        let whole = self.budget;
        let choices: Vec<Vec<Mover>> = self.question.then.iter().map(|step| self.movers(step)).collect();
        let mut index = vec![0usize; choices.len()];
        if choices.iter().any(Vec::is_empty) {
            return Answer::No(Proof { regions: 1 });
        }
        loop {
            let movers: Vec<Mover> = choices.iter().zip(&index).map(|(list, &at)| list[at]).collect();
            match self.with(&movers) {
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
        match self.open {
            Some(why) => Answer::NotDecided(why),
            None => Answer::No(Proof { regions: whole - self.budget }),
        }
    }

    fn movers(&self, step: &Step) -> Vec<Mover> {
        let parts = &self.program.parts;
        let ids: Vec<ControlId> = match &step.who {
            Movers::These(list) => list.clone(),
            _ => self.program.controls().map(|(id, _)| id).collect(),
        };
        let mut list = Vec::new();
        let mut idle = None;
        for id in ids {
            let Some(control) = parts.controls.get(usize::from(id.0)) else { continue };
            let discrete = positions(&control.kind).is_some();
            let stick = matches!(control.kind, ControlKind::Stick { .. });
            let allowed = match step.who {
                Movers::These(_) | Movers::Any => true,
                Movers::SwitchesAndButtons => discrete,
                Movers::NotSticks => !stick,
            };
            if !allowed {
                continue;
            }
            let var = self.net.find_var(Handle::Control(id)).filter(|var| self.cone.vars.contains(var));
            match var {
                Some(_) => list.push(Mover { control: id, var, trim: false }),
                None => idle = idle.or(Some(Mover { control: id, var: None, trim: false })),
            }
            let trim = self.net.find_var(Handle::Trim(id)).filter(|var| self.cone.vars.contains(var));
            if step.who == Movers::Any
                && let Some(var) = trim
            {
                list.push(Mover { control: id, var: Some(var), trim: true });
            }
        }
        list.extend(idle);
        list
    }

    fn with(&mut self, movers: &[Mover]) -> Result<Option<Witness>, Why> {
        let Some(cells) = kept_cells(self.net, &self.question.fixed) else { return Ok(None) };
        let mut scenes = vec![Scene::first()];
        for (mover, step) in movers.iter().zip(&self.question.then) {
            let mut scene = Scene::first();
            scene.same_held = mover.var.is_none();
            if let Some(var) = mover.var {
                let cell = match (step.to, self.net.vars[usize::from(var)].1) {
                    (Some(Setting::Position(at)), Kind::Switch(n)) if at < n => Cell::Mask(1 << at),
                    (Some(Setting::Percent(at)), Kind::Axis(reach)) if fits(at) => match kept_range(at, at, reach) {
                        Some(cell) => cell,
                        None => return Ok(None),
                    },
                    // What is kept stays kept, but for the one that moves within what it may be.
                    (None, _) => cells[usize::from(var)],
                    _ => return Ok(None),
                };
                scene.moved = Some((var, cell));
            }
            scenes.push(scene);
        }
        let mut eval = Eval::new(self.program, self.net, cells, scenes);
        eval.groups = self.groups.iter().map(|group| Group::of(group)).collect();
        match self.explore(&mut eval) {
            Ok(()) => Ok(None),
            Err(Stop::Budget) => Err(Why::Budget),
            Err(Stop::Found) => {
                let witness = super::witness::witness(
                    &eval,
                    &self.groups,
                    self.question,
                    movers.iter().map(|m| (m.control, m.trim)),
                );
                debug_assert!(self.replays(&witness), "a witness of {:?} does not replay: {witness:?}", self.question);
                Ok(Some(witness))
            }
        }
    }

    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Stop> {
        self.budget = self.budget.checked_sub(1).ok_or(Stop::Budget)?;
        eval.fresh();
        let mut maybe: Option<Hint> = None;
        let mut goals: Vec<Tri> = vec![eval.bit(0, self.state)];
        if goals[0] == Tri::False {
            return Ok(());
        }
        for at in 0..self.reaches.len() {
            let found = eval.bit(at as u8 + 1, self.reaches[at]);
            if found == Tri::False {
                return Ok(());
            }
            goals.push(found);
        }
        for at in 1..eval.scenes.len() {
            goals.push(differs(eval, at));
        }
        for goal in goals {
            match goal {
                Tri::False => return Ok(()),
                Tri::True => {}
                Tri::Maybe(hint) => {
                    if maybe.is_none_or(|known| matches!(known, Hint::Close | Hint::NotKnown(_))) {
                        maybe = Some(hint);
                    }
                }
            }
        }
        match maybe {
            None => Err(Stop::Found),
            Some(Hint::Close) => {
                self.open = self.open.or(Some(Why::TooClose));
                Ok(())
            }
            Some(Hint::NotKnown(channel)) => {
                self.open = self.open.or(Some(Why::NotKnown(channel)));
                Ok(())
            }
            Some(hint) => split(eval, hint, &mut |eval| self.explore(eval)),
        }
    }

    fn replays(&self, witness: &Witness) -> bool {
        let program = self.program;
        program.holds(&witness.path, &self.question.state) == Some(true)
            && self
                .question
                .then
                .iter()
                .enumerate()
                .all(|(at, step)| program.holds(&witness.path_then(at), &step.reach) == Some(true))
    }
}

/// What the variables may be where some handles are kept; `None` where a handle can't be where it is kept.
pub(super) fn kept_cells(net: &Net, fixed: &[(Handle, Kept)]) -> Option<Vec<Cell>> {
    let mut cells: Vec<Cell> = net.vars.iter().map(|&(_, kind)| Cell::whole(kind)).collect();
    for &(handle, kept) in fixed {
        let Some(var) = net.find_var(handle) else { continue };
        let cell = match (kept, net.vars[usize::from(var)].1) {
            (Kept::At(Setting::Position(at)), Kind::Switch(n)) if at < n => Cell::Mask(1 << at),
            (Kept::At(Setting::Percent(at)), Kind::Axis(reach)) if fits(at) => kept_range(at, at, reach)?,
            (Kept::Within(low, high), Kind::Axis(reach)) if fits(low) && fits(high) => kept_range(low, high, reach)?,
            _ => return None,
        };
        cells[usize::from(var)] = cell;
    }
    Some(cells)
}

/// Whether a switch that moves goes to another position; an axis that moves may come to where it was.
fn differs(eval: &Eval<'_>, scene: usize) -> Tri {
    let Some((var, Cell::Mask(to))) = eval.scenes[scene].moved else { return Tri::True };
    let Cell::Mask(from) = eval.cells[usize::from(var)] else { return Tri::True };
    if from & to == 0 {
        Tri::True
    } else if from == to && from.count_ones() == 1 {
        Tri::False
    } else if from.count_ones() > 1 {
        Tri::Maybe(Hint::Switch(0, var))
    } else {
        Tri::Maybe(Hint::Positions(scene as u8, var, from))
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
            let rest = match program.rest().get(handle) {
                Some(Setting::Position(rest)) if mask >> rest & 1 == 1 => rest,
                _ => mask.trailing_zeros() as u8,
            };
            Setting::Position(rest)
        }
        Cell::Range { low, high, low_open, high_open } => {
            let inside = |at: Fix| (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
            let rest = match program.rest().get(handle) {
                Some(Setting::Percent(rest)) => Fix::of(rest),
                _ => Fix::ZERO,
            };
            let middle = (low.near() + high.near()) / 2.0;
            // A round number reads better on the bench than an exact middle.
            let rounded = [1.0, 8.0, 1_024.0, 1_048_576.0].map(|steps| Fix::dyadic((middle * steps).round() / steps));
            let candidates = [Some(rest), Some(low), Some(high), Some(Fix::ZERO)].into_iter().chain(rounded).flatten();
            let found = candidates.into_iter().find(|&at| inside(at));
            let exact = || low.add(high)?.div(Fix::whole(2));
            Setting::Percent(found.or_else(exact).map_or(whole(0), Fix::number))
        }
    }
}
