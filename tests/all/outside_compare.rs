//! Two models held against each other, and an SMT solver asked the same: whether any state tells them apart, with the models put
//! together for the solver by the test itself.

use crate::random_models::dice::Dice;
use crate::random_models::oracle::Oracle;
use crate::random_models::pairs::{FIRST, pair, ties, together};
use crate::random_models::solver::Solver;
use walkaround::compare::{Same, same_pulses};
use walkaround::signal::*;

#[test]
fn the_solver_tells_the_same_pairs_apart() {
    let mut solver = Solver::start();
    let (mut same, mut other, mut open) = (0, 0, 0);
    for number in 0..500 {
        let mut dice = Dice::new(70_000 + number);
        let (first, second) = pair(&mut dice);
        let parts = together(first.parts(), second.parts());
        let mut oracle = Oracle::tied(&parts, &mut solver, &ties(first.parts(), "s"));
        for (channel, verdict) in same_pulses(&first, &second) {
            let theirs = oracle.is_apart(channel + FIRST, channel);
            let told = || format!("pair {number}, channel {channel}\n{:?}\n{:?}", first.parts(), second.parts());
            match verdict {
                Same::Yes => {
                    assert!(!theirs, "the same, and the solver tells them apart; {}", told());
                    same += 1;
                }
                Same::No(paths) => {
                    assert!(theirs, "not the same, and the solver proves that it is; {}", told());
                    let read = |program: &Program, path: &Path| {
                        approximate(program.play(path).channel(channel).unwrap().received.as_ref().unwrap())
                    };
                    assert_eq!(paths.0.end(), paths.1.end(), "{}", told());
                    assert!((read(&first, &paths.0) - read(&second, &paths.1)).abs() > 0.1, "{}", told());
                    other += 1;
                }
                Same::NotDecided(why) => {
                    println!("not decided, {why} (the solver: {theirs}): pair {number}, channel {channel}");
                    open += 1;
                }
            }
        }
    }
    println!("{same} the same, {other} not, {open} not decided");
    let all = same + other + open;
    assert!(same * 4 >= all, "only {same} of {all} are the same");
    assert!(other * 4 >= all, "only {other} of {all} differ");
    // These join several axes several times, and the differences of what they join even more often.
    assert!(open * 100 <= all * 6, "{open} of {all} are not decided, though everything is linear");
}
