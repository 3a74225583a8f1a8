//! From a box in which everything is decided to a path that a pilot can follow.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::compiled::Compiled;
use crate::signal::program::parts::ControlId;
use crate::signal::program::state::{Handle, Movement, Path, Setting, Stand};
use crate::signal::solve::cells::Cell;
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::pasts::{Moment, Pasts};
use crate::signal::solve::program::Program;
use crate::signal::solve::question::{Question, Witness};
use std::rc::Rc;

/// Builds the path: every group of latches comes to its past, all at the same time, and one more moment leads to the
/// state.
pub(in crate::signal) fn witness(
    program: &Program,
    eval: &Eval<'_>,
    groups: &[Rc<Pasts>],
    question: &Question,
    movers: impl Iterator<Item = (ControlId, bool)>,
) -> Witness {
    let domains = &*eval.domains;
    let mut last = program.rest();
    for (var, &cell) in domains.cells.iter().enumerate() {
        let handle = eval.dag.vars[var].0;
        last.set(handle, pick(program, handle, cell));
    }
    if groups.is_empty() {
        let path = Path { start: last, held: domains.scenes[0].held, movements: Vec::new() };
        return Witness { path, then: steps(eval, movers) };
    }
    let chains: Vec<Vec<Moment>> =
        groups.iter().zip(&domains.groups).map(|(group, left)| chain(group, left.first())).collect();
    let longest = chains.iter().map(Vec::len).max().unwrap_or(0);
    let mut stands: Vec<(Stand, u64)> = vec![(last.clone(), 0); longest];
    for (moments, group) in chains.iter().zip(groups) {
        // A group that has less to do waits at its first moment, where nothing changes, until the others come along.
        let wait = longest - moments.len();
        for (at, (stand, held)) in stands.iter_mut().enumerate() {
            let Some((cells, holds)) = moments.get(at.saturating_sub(wait)).or(moments.first()) else { continue };
            for &(var, cell) in cells.iter().filter(|(var, _)| group.vars.has(*var)) {
                let handle = eval.dag.vars[usize::from(var)].0;
                stand.set(handle, pick(program, handle, cell));
            }
            *held |= holds;
        }
    }
    stands.push((last, domains.scenes[0].held));
    let mut stands = stands.into_iter();
    let Some((start, held)) = stands.next() else {
        return Witness { path: Path::at(program.rest()), then: Vec::new() };
    };
    let mut now = start.clone();
    let mut path = Path { start, held, movements: Vec::new() };
    for (stand, held) in stands {
        path.movements.push(Movement { sets: difference(&now, &stand), held });
        now = stand;
    }
    let then = steps(eval, movers);
    let mut witness = Witness { path, then };
    one_at_a_time(program, question, &mut witness);
    witness
}

/// The movements out of the state.
fn steps(eval: &Eval<'_>, movers: impl Iterator<Item = (ControlId, bool)>) -> Vec<Movement> {
    let domains = &*eval.domains;
    let step = |(scene, (control, trim)): (&crate::signal::solve::domains::Scene, (ControlId, bool))| {
        let handle = if trim { Handle::Trim(control) } else { Handle::Control(control) };
        let held = if scene.same_held { domains.scenes[0].held } else { scene.held };
        let sets = scene.moved.map(|(_, cell)| (handle, pick(eval.program, handle, cell)));
        Movement { sets: sets.into_iter().collect(), held }
    };
    domains.scenes[1..].iter().zip(movers).map(step).collect()
}

/// The moments that lead to a past, the start first.
fn chain(group: &Pasts, past: usize) -> Vec<Moment> {
    let mut moments = Vec::new();
    let mut at = past;
    while let Some((from, moment)) = group.list.get(at).and_then(|past| past.from.as_ref()) {
        moments.push(moment.clone());
        at = usize::from(*from);
    }
    moments.reverse();
    moments
}

fn difference(from: &Stand, to: &Stand) -> Vec<(Handle, Setting)> {
    let controls = from.controls.iter().zip(&to.controls).enumerate().filter(|(_, (a, b))| a != b);
    let controls = controls.map(|(at, (_, b))| (Handle::Control(ControlId(at as u16)), *b));
    let trims = from.trims.iter().zip(&to.trims).enumerate().filter(|(_, (a, b))| a != b);
    let trims = trims.map(|(at, (_, b))| (Handle::Trim(ControlId(at as u16)), Setting::Percent(*b)));
    controls.chain(trims).collect()
}

/// Takes movements of several controls apart where the question is answered all the same.
fn one_at_a_time(program: &Program, question: &Question, witness: &mut Witness) {
    if witness.path.movements.iter().all(|movement| movement.sets.len() < 2) {
        return;
    }
    let mut path = Path { movements: Vec::new(), ..witness.path.clone() };
    for movement in &witness.path.movements {
        let singles = movement.sets.iter().map(|&set| Movement { sets: vec![set], held: movement.held });
        path.movements.extend(singles);
    }
    let other = Witness { path, then: witness.then.clone() };
    if program.replays(question, &other) {
        *witness = other;
    }
}

/// Where a variable is put when anything in its cell will do: at rest where that is possible.
pub(in crate::signal) fn pick(program: &Compiled, handle: Handle, cell: Cell) -> Setting {
    match cell {
        Cell::Mask(mask) => {
            let rest = match program.rest.get(handle) {
                Some(Setting::Position(rest)) if mask >> rest & 1 == 1 => rest,
                _ => mask.trailing_zeros() as u8,
            };
            Setting::Position(rest)
        }
        Cell::Range { low, high, low_open, high_open } => {
            let inside =
                |at: Rational64| (low < at || low == at && !low_open) && (at < high || at == high && !high_open);
            let rest = match program.rest.get(handle) {
                Some(Setting::Percent(rest)) => rest,
                _ => Rational64::ZERO,
            };
            let middle = (low.near() + high.near()) / 2.0;
            // A round number can be set on the bench and written down; an exact middle often can't.
            let decimals = [1_i64, 10, 100, 1000].into_iter();
            let decimals = decimals.filter_map(|parts| Rational64::new((middle * parts as f64).round() as i64, parts));
            let ends = [rest, low, high, Rational64::ZERO].into_iter();
            let short = ends.clone().chain(decimals).filter(|at| at.is_short());
            let steps = [1_024.0, 1_048_576.0].into_iter();
            let steps = steps.filter_map(|steps| Rational64::dyadic((middle * steps).round() / steps));
            let found = short.chain(ends).chain(steps).find(|&at| inside(at));
            let exact = || low.add(high)?.div(Rational64::whole(2));
            Setting::Percent(found.or_else(exact).unwrap_or(whole(0)))
        }
    }
}
