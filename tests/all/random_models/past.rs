//! What can have been before a moment: which latches were on, and which tests of `becomes` held.
//!
//! A movement may be of several controls at once, so any positions can follow any others, and of all that happened only
//! this much matters now. The solver finds the reachable pasts itself: from the start, each past gives the outcomes that
//! the solver finds for one more moment, until it proves that every known past has no outcome but the known ones. The list
//! is then complete by induction, and everything on it was reached.

use super::smt::Moment;
use super::solver::Solver;
use std::collections::BTreeSet;
use walkaround::signal::*;

/// A control in a position: what `becomes` looks at.
pub(crate) type Test = (ControlId, Position);

/// One past. The start is the one where nothing has moved yet.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(crate) struct Past {
    moved: bool,
    latches: Vec<bool>,
    tests: Vec<bool>,
}

/// Everything that `becomes` looks at in a model or in these conditions.
pub(crate) fn tests<'a>(parts: &'a Parts, asked: impl IntoIterator<Item = &'a Condition>) -> Vec<Test> {
    let mut found = Vec::new();
    for named in &parts.conditions {
        match &named.kind {
            NamedKind::Plain(condition) | NamedKind::Toggle(condition) => in_condition(condition, &mut found),
            NamedKind::Latch { set, reset } => {
                in_condition(set, &mut found);
                in_condition(reset, &mut found);
            }
        }
    }
    let lines = parts.channels.iter().flat_map(|channel| &channel.lines).filter_map(|line| line.when.as_ref());
    let rates = parts.controls.iter().flat_map(|control| match &control.kind {
        ControlKind::Stick { rates, .. } => rates.as_slice(),
        _ => &[],
    });
    let rates = rates.filter_map(|rate| rate.when.as_ref());
    for condition in lines.chain(rates).chain(asked) {
        in_condition(condition, &mut found);
    }
    found
}

fn in_condition(condition: &Condition, found: &mut Vec<Test>) {
    match condition {
        Condition::Becomes(id, at) if !found.contains(&(*id, *at)) => found.push((*id, *at)),
        Condition::Not(of) | Condition::Held(_, of) => in_condition(of, found),
        Condition::All(of) | Condition::Any(of) => of.iter().for_each(|c| in_condition(c, found)),
        _ => {}
    }
}

/// The indices of the conditions that are latches or toggles.
fn latches(parts: &Parts) -> Vec<usize> {
    let is_latch = |index: &usize| !matches!(parts.conditions[*index].kind, NamedKind::Plain(_));
    (0..parts.conditions.len()).filter(is_latch).collect()
}

/// Declares the past of a moment that has [`Before::Past`].
pub(crate) fn declare(solver: &mut Solver, parts: &Parts, tests: &[Test]) {
    solver.tell("(declare-const moved Bool)\n");
    for latch in latches(parts) {
        solver.tell(&format!("(declare-const l{latch} Bool)\n"));
    }
    for test in 0..tests.len() {
        solver.tell(&format!("(declare-const w{test} Bool)\n"));
    }
}

/// Every reachable past, found and proved complete by the solver. The moment `now`, its controls and its past are declared.
pub(crate) fn reachable(solver: &mut Solver, parts: &Parts, now: &mut Moment<'_>, tests: &[Test]) -> Vec<Past> {
    let latches = latches(parts);
    let mut outcome: Vec<String> = latches.iter().map(|&latch| now.named(ConditionId(latch as u16))).collect();
    outcome.extend(tests.iter().map(|&test| now.test(test)));
    solver.tell(&now.take());
    let start = Past { moved: false, latches: vec![false; latches.len()], tests: vec![false; tests.len()] };
    let mut pasts = vec![start];
    if outcome.is_empty() {
        // Without latches and tests no moment hangs on what was before.
        return pasts;
    }
    let mut seen: BTreeSet<Vec<bool>> = BTreeSet::new();
    let mut at = 0;
    while at < pasts.len() {
        solver.tell("(push)\n");
        let was = holds(parts, &pasts[at]);
        solver.tell(&format!("(assert {was})\n"));
        for known in &seen {
            solver.tell(&differs(&outcome, known));
        }
        while solver.is_satisfiable() {
            let found: Vec<bool> = solver.values(&outcome).iter().map(super::solver::Term::is_true).collect();
            solver.tell(&differs(&outcome, &found));
            let (latched, tested) = found.split_at(latches.len());
            pasts.push(Past { moved: true, latches: latched.to_vec(), tests: tested.to_vec() });
            assert!(seen.insert(found), "the solver gives an outcome twice");
        }
        solver.tell("(pop)\n");
        at += 1;
    }
    pasts
}

/// The declared past is this one.
fn holds(parts: &Parts, past: &Past) -> String {
    let mut text = format!("(and (= moved {})", past.moved);
    for (latch, on) in latches(parts).iter().zip(&past.latches) {
        text += &format!(" (= l{latch} {on})");
    }
    for (test, on) in past.tests.iter().enumerate() {
        text += &format!(" (= w{test} {on})");
    }
    text + ")"
}

/// The declared past is one of these.
pub(crate) fn is_one_of(parts: &Parts, pasts: &[Past]) -> String {
    let each: Vec<_> = pasts.iter().map(|past| holds(parts, past)).collect();
    format!("(assert (or {}))\n", each.join(" "))
}

fn differs(outcome: &[String], values: &[bool]) -> String {
    let each: Vec<_> = outcome.iter().zip(values).map(|(name, value)| format!("(= {name} {value})")).collect();
    format!("(assert (not (and {})))\n", each.join(" "))
}
