//! The query against tools from outside the project. `.ci/install-outside-tools` installs them; a tool that is missing
//! fails these tests and never skips them.
//!
//! An SMT solver gets random models of the linear part of the language as formulas, written apart from the program, and
//! the same questions: yes and no must be the same, every witness must hold in the solver's model, and the ends of ranges
//! must be those that its optimiser finds.

use crate::random_models::dice::Dice;
use crate::random_models::models::{BUDGET, given, model, question};
use crate::random_models::oracle::{Oracle, may_move};
use crate::random_models::solver::Solver;
use num_rational::BigRational;
use num_traits::ToPrimitive;
use walkaround::signal::*;

#[test]
fn yes_and_no_are_the_solvers() {
    let mut solver = Solver::start();
    let (mut yes, mut no, mut open, mut steps, mut latched) = (0, 0, 0, 0, 0);
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let questions: Vec<_> = (0..9).map(|_| question(&mut dice, program.parts())).collect();
        let mut oracle = Oracle::new(program.parts(), &mut solver, &[]);
        latched += usize::from(oracle.pasts > 2);
        for (at, question) in questions.iter().enumerate() {
            let theirs = oracle.answer(question);
            steps += usize::from(!question.then.is_empty());
            let told = || format!("seed {seed}, question {at}: {question:?}\nof {:?}", program.parts());
            match program.ask(question) {
                Answer::Yes(witness) => {
                    assert!(theirs, "yes, and the solver proves no; {}", told());
                    yes += 1;
                    replays(&mut oracle, &program, question, &witness, &told);
                }
                Answer::No(_) => {
                    assert!(!theirs, "no, and the solver has a state; {}", told());
                    no += 1;
                }
                Answer::NotDecided(why) => {
                    println!("not decided, {why:?} (the solver says {theirs}): seed {seed}, question {at}");
                    open += 1;
                }
            }
        }
    }
    println!("{yes} yes, {no} no, {open} not decided; {steps} about movements; {latched} models with a history");
    let all = yes + no + open;
    assert!(all >= 1_000, "only {all} questions");
    assert!(no * 10 >= all, "only {no} of {all} have the answer no");
    assert!(steps * 10 >= all, "only {steps} of {all} are about movements");
    assert!(latched >= 50, "only {latched} models remember anything");
    assert!(open * 100 <= all * 3, "{open} of {all} are not decided, though everything is linear");
}

/// Every condition holds where the witness says, in the solver's model too, and both read the same on every channel.
fn replays(
    oracle: &mut Oracle<'_>,
    program: &Program,
    question: &Question,
    witness: &Witness,
    told: &dyn Fn() -> String,
) {
    let same = |oracle: &mut Oracle<'_>, path: &Path, condition: &Condition| {
        let (holds, theirs) = oracle.replay(path, condition);
        assert!(holds, "the end of {path:?} is no witness; {}", told());
        for (ours, theirs) in program.play(path).channels.iter().zip(&theirs) {
            let received = ours.received.as_ref().unwrap();
            for (ours, theirs) in [&ours.percent, &ours.sent, received].into_iter().zip(theirs) {
                assert!(is_same(ours, theirs), "ours {ours:?}, the solver {theirs}; {}", told());
            }
        }
    };
    same(oracle, &witness.path, &question.state);
    assert_eq!(witness.then.len(), question.then.len());
    for (at, step) in question.then.iter().enumerate() {
        same(oracle, &witness.path_then(at), &step.reach);
        // It is one movement, of something that may move; or of something that changes nothing, and then it is left out.
        let sets = &witness.then[at].sets;
        let id = match sets.as_slice() {
            [] => continue,
            [(Handle::Control(id), _)] => *id,
            [(Handle::Trim(id), _)] => {
                assert_eq!(step.who, Movers::Any);
                *id
            }
            _ => panic!("{sets:?} is more than one movement; {}", told()),
        };
        assert!(may_move(program.parts(), &step.who, id), "{}", told());
    }
}

#[test]
fn ranges_are_the_optimisers() {
    let mut solver = Solver::start();
    let (mut ranges, mut nowhere, mut open) = (0, 0, 0);
    for seed in 1_000..1_100 {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let parts = program.parts();
        let mut oracle = Oracle::new(parts, &mut solver, &[]);
        for _ in 0..3 {
            let numbers = parts.channels.iter().filter(|channel| !channel.is_mix()).map(|channel| channel.number);
            let channel = *dice.pick(&numbers.collect::<Vec<_>>());
            let measure = *dice.pick(&[Measure::Percent, Measure::Sent, Measure::Received]);
            let given = given(&mut dice, parts);
            let told = || format!("seed {seed}, {measure:?} of channel {channel} given {given:?}\nof {parts:?}");
            let theirs = oracle.range(channel, measure, &given);
            let within = Within { given: given.clone(), fixed: Vec::new() };
            match (program.range(channel, measure, &within).unwrap(), theirs) {
                (Reach::NotDecided(why), _) => {
                    println!("not decided, {why:?}: seed {seed}");
                    open += 1;
                }
                (Reach::Nowhere, theirs) => {
                    assert_eq!(theirs, None, "{}", told());
                    nowhere += 1;
                }
                (Reach::Range(ours), theirs) => {
                    let (low, high) = theirs.unwrap_or_else(|| panic!("the solver has no such state; {}", told()));
                    let (low, high) = (low.to_f64().unwrap(), high.to_f64().unwrap());
                    // Received levels are exact but for the last bit of a fraction's floating point.
                    let slack = match measure {
                        Measure::Percent => 0.02,
                        Measure::Sent => 0.1,
                        Measure::Received if levels(parts, channel) => 1e-9,
                        Measure::Received => 0.1,
                    };
                    let near = |ours: f64, theirs: f64| (ours - theirs).abs() <= slack;
                    assert!(
                        near(ours.low, low) && near(ours.high, high),
                        "{ours:?}, the solver {low} to {high}; {}",
                        told()
                    );
                    ranges += 1;
                }
            }
        }
    }
    println!("{ranges} ranges, {nowhere} nowhere, {open} not decided");
    assert!(ranges >= 220, "only {ranges} ranges");
    assert!(nowhere >= 10, "only {nowhere} are nowhere");
    assert!(open <= 35, "{open} are not decided, though everything is linear");
}

fn levels(parts: &Parts, channel: u16) -> bool {
    parts.channels.iter().any(|c| c.number == channel && matches!(c.carriage, Carriage::Levels(_)))
}

/// Exactly the same number; to the last bits of floating point where it does not fit a number of a description.
fn is_same(ours: &Exact, theirs: &BigRational) -> bool {
    let small = theirs.numer().to_i64().zip(theirs.denom().to_i64());
    match small.and_then(|(top, bottom)| Rational64::new(top, bottom)) {
        Some(number) => *ours == exact(number),
        None => (approximate(ours) - theirs.to_f64().unwrap()).abs() < 1e-9,
    }
}
