//! From a box in which everything is decided to a path that a pilot can follow.

use super::eval::Eval;
use super::memory::{Moment, Pasts};
use super::parts::ControlId;
use super::program::Program;
use super::query::pick;
use super::question::{Question, Witness};
use super::state::{Handle, Movement, Path, Stand};
use std::rc::Rc;

/// Builds the path: every group of latches comes to its past, all at the same time, and one more moment leads to the
/// state.
pub(super) fn witness(
    eval: &Eval<'_>,
    groups: &[Rc<Pasts>],
    question: &Question,
    movers: impl Iterator<Item = (ControlId, bool)>,
) -> Witness {
    let (program, region) = (eval.program, &*eval.region);
    let mut last = program.rest();
    for (var, &cell) in region.cells.iter().enumerate() {
        let handle = eval.net.vars[var].0;
        last.set(handle, pick(program, handle, cell));
    }
    if groups.is_empty() {
        let path = Path { start: last, held: region.scenes[0].held, movements: Vec::new() };
        return Witness { path, then: steps(eval, movers) };
    }
    let chains: Vec<Vec<Moment>> =
        groups.iter().zip(&region.groups).map(|(group, left)| chain(group, left.first())).collect();
    let longest = chains.iter().map(Vec::len).max().unwrap_or(0);
    let mut stands: Vec<(Stand, u64)> = vec![(last.clone(), 0); longest];
    for (moments, group) in chains.iter().zip(groups) {
        // A group that has less to do waits at its first moment, where nothing changes, until the others come along.
        let wait = longest - moments.len();
        for (at, (stand, held)) in stands.iter_mut().enumerate() {
            let Some((cells, holds)) = moments.get(at.saturating_sub(wait)).or(moments.first()) else { continue };
            for &(var, cell) in cells.iter().filter(|(var, _)| group.vars.has(*var)) {
                let handle = eval.net.vars[usize::from(var)].0;
                stand.set(handle, pick(program, handle, cell));
            }
            *held |= holds;
        }
    }
    stands.push((last, region.scenes[0].held));
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
    let region = &*eval.region;
    let step = |(scene, (control, trim)): (&super::region::Scene, (ControlId, bool))| {
        let handle = if trim { Handle::Trim(control) } else { Handle::Control(control) };
        let held = if scene.same_held { region.scenes[0].held } else { scene.held };
        let sets = scene.moved.map(|(_, cell)| (handle, pick(eval.program, handle, cell)));
        Movement { sets: sets.into_iter().collect(), held }
    };
    region.scenes[1..].iter().zip(movers).map(step).collect()
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

fn difference(from: &Stand, to: &Stand) -> Vec<(Handle, super::state::Setting)> {
    let controls = from.controls.iter().zip(&to.controls).enumerate().filter(|(_, (a, b))| a != b);
    let controls = controls.map(|(at, (_, b))| (Handle::Control(ControlId(at as u16)), *b));
    let trims = from.trims.iter().zip(&to.trims).enumerate().filter(|(_, (a, b))| a != b);
    let trims = trims.map(|(at, (_, b))| (Handle::Trim(ControlId(at as u16)), super::state::Setting::Percent(*b)));
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
