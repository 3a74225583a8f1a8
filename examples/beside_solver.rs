//! The query beside an SMT solver, in one run and on the same questions:
//! `cargo run --release --features outside-tools --example beside_solver`. docs/speed.md says what the ratios may be; a
//! greater one fails the run.
//!
//! The models and questions are those of `tests/all/outside_signal.rs`. The solver is asked in one process that knows the model
//! and its reachable pasts already; the program finds the pasts within its own time.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
#![expect(dead_code, reason = "shared with the tests, which use more of it")]

#[path = "../tests/all/random_models/mod.rs"]
mod random_models;

use random_models::dice::Dice;
use random_models::models::{BUDGET, given, model, question};
use random_models::oracle::Oracle;
use random_models::solver::Solver;
use std::process::ExitCode;
use std::time::{Duration, Instant};
use walkaround::signal::*;

/// The most that a question and a range may take of the solver's time.
const QUESTIONS: f64 = 1.0 / 50.0;
const RANGES: f64 = 1.0 / 200.0;

/// Times of the same work: the program's and the solver's.
#[derive(Default)]
struct Times(Vec<(Duration, Duration)>, usize);

impl Times {
    fn add<A, B>(&mut self, ours: impl FnOnce() -> A, theirs: impl FnOnce() -> B, open: impl FnOnce(&A) -> bool) {
        let begun = Instant::now();
        let answer = ours();
        let took = begun.elapsed();
        let begun = Instant::now();
        theirs();
        self.0.push((took, begun.elapsed()));
        self.1 += usize::from(open(&answer));
    }

    /// Prints the times and returns the ratio of the sums.
    fn tell(&mut self, what: &str) -> f64 {
        let middle = |of: fn(&(Duration, Duration)) -> Duration| {
            let mut times: Vec<_> = self.0.iter().map(of).collect();
            times.sort_unstable();
            times[times.len() / 2]
        };
        let (ours, theirs) = (middle(|t| t.0), middle(|t| t.1));
        let (all_ours, all_theirs) =
            self.0.iter().fold((Duration::ZERO, Duration::ZERO), |sum, t| (sum.0 + t.0, sum.1 + t.1));
        let ratio = all_ours.as_secs_f64() / all_theirs.as_secs_f64();
        println!(
            "{} {what}, {} not decided: all {all_ours:.1?} and {all_theirs:.1?}, ratio 1/{:.1}; median {ours:.1?} and {theirs:.1?}, ratio 1/{:.0}",
            self.0.len(),
            self.1,
            1.0 / ratio,
            theirs.as_secs_f64() / ours.as_secs_f64()
        );
        ratio
    }
}

fn main() -> ExitCode {
    if cfg!(debug_assertions) {
        eprintln!("times of a debug build say nothing: add --release");
        return ExitCode::FAILURE;
    }
    let budget: u64 = std::env::args().nth(1).map_or(BUDGET, |budget| budget.parse().expect("a number of regions"));
    let mut solver = Solver::start();
    let (mut questions, mut ranges) = (Times::default(), Times::default());
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(budget);
        let mut oracle = Oracle::new(program.parts(), &mut solver, &[]);
        for _ in 0..9 {
            let question = question(&mut dice, program.parts());
            let is_open = |answer: &Answer| matches!(answer, Answer::NotDecided(_));
            questions.add(|| program.ask(&question), || oracle.answer(&question), is_open);
        }
    }
    for seed in 1_000..1_100 {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(budget);
        let mut oracle = Oracle::new(program.parts(), &mut solver, &[]);
        for _ in 0..3 {
            // A mix is sent nowhere.
            let numbers = program.parts().channels.iter().filter(|channel| !channel.is_mix()).map(|it| it.number);
            let channel = *dice.pick(&numbers.collect::<Vec<_>>());
            let measure = *dice.pick(&[Measure::Percent, Measure::Sent, Measure::Received]);
            let within = Within { given: given(&mut dice, program.parts()), fixed: Vec::new() };
            let is_open = |reach: &Option<Reach>| matches!(reach, Some(Reach::NotDecided(_)));
            ranges.add(
                || program.range(channel, measure, &within),
                || oracle.range(channel, measure, &within.given),
                is_open,
            );
        }
    }
    let good = [questions.tell("questions") <= QUESTIONS, ranges.tell("ranges") <= RANGES];
    println!("limits: 1/{:.0} for questions, 1/{:.0} for ranges, of all time together", 1.0 / QUESTIONS, 1.0 / RANGES);
    if good == [true, true] { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
