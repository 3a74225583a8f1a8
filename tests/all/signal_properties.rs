//! What holds for every model and every question, over random models of the linear part of the language.

use crate::random_models::dice::Dice;
use crate::random_models::models::{BUDGET, given, model, question};
use crate::tangled;
use proptest::prelude::*;
use walkaround::signal::*;

fn cases(cases: u32) -> ProptestConfig {
    ProptestConfig { cases, ..ProptestConfig::default() }
}

/// The program with two more controls that nothing looks at, in this order.
fn with_unused(program: &Program, unused: [Control; 2]) -> Program {
    let mut parts = program.parts().clone();
    parts.controls.extend(unused);
    Program::new(parts).unwrap().with_budget(BUDGET)
}

/// Which of the three answers it is.
fn kind(answer: &Answer) -> &'static str {
    match answer {
        Answer::Yes(_) => "yes",
        Answer::No(_) => "no",
        Answer::NotDecided(_) => "not decided",
    }
}

proptest! {
    #![proptest_config(cases(60))]

    /// Played again, a witness satisfies the question; so does each of its movements.
    #[test]
    fn a_witness_satisfies_the_question(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let question = question(&mut dice, program.parts());
        if let Answer::Yes(witness) = program.ask(&question) {
            prop_assert_eq!(program.holds(&witness.path, &question.state), Some(true));
            prop_assert_eq!(witness.then.len(), question.then.len());
            for (at, step) in question.then.iter().enumerate() {
                prop_assert_eq!(program.holds(&witness.path_then(at), &step.reach), Some(true));
            }
            for (handle, kept) in &question.fixed {
                let inside = match (witness.path.end().get(*handle).unwrap(), *kept) {
                    (at, Kept::At(where_to)) => at == where_to,
                    (Setting::Percent(at), Kept::Within(low, high)) => low <= at && at <= high,
                    (Setting::Position(_), Kept::Within(..)) => false,
                };
                prop_assert!(inside, "{:?} is not kept", handle);
            }
        }
    }

    /// Some state is reachable, so a condition and its contrary can't both be never.
    #[test]
    fn a_question_and_its_contrary_are_never_both_no(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let state = question(&mut dice, program.parts()).state;
        let both = [program.ask(&Question::is(state.clone())), program.ask(&Question::is(state.not()))];
        prop_assert!(both.iter().any(|answer| !answer.is_no()), "never, and never not");
    }

    /// The order of controls that nothing looks at changes no answer and no range, and neither does their being there.
    #[test]
    fn unused_controls_change_nothing(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let spare = Control::switch("spare", &["up", "middle", "down"]);
        let slider = Control::axis("slider");
        let one = with_unused(&program, [spare.clone(), slider.clone()]);
        let other = with_unused(&program, [slider, spare]);
        for _ in 0..3 {
            let question = question(&mut dice, program.parts());
            let kinds = [&program, &one, &other].map(|program| kind(&program.ask(&question)));
            prop_assert_eq!(kinds[1], kinds[2], "{:?}", question);
            // A movement may be of any control there is, so that one more can make a difference.
            if question.then.is_empty() {
                prop_assert_eq!(kinds[0], kinds[1], "{:?}", question);
            }
        }
        for channel in &program.parts().channels {
            let within = Within { given: given(&mut dice, program.parts()), fixed: Vec::new() };
            let ranges = [&program, &one, &other].map(|program| program.range(channel.number, Measure::Sent, &within));
            prop_assert!(ranges[0] == ranges[1] && ranges[1] == ranges[2], "{:?}", ranges);
        }
    }

    /// No state that is found lies outside the range, by more than ranges may be off.
    #[test]
    fn no_answer_lies_outside_a_range(seed in any::<u64>()) {
        let mut dice = Dice::new(seed);
        let program = model(&mut dice).with_budget(BUDGET);
        let channel = program.parts().channels[0].number;
        let Some(Reach::Range(range)) = program.range(channel, Measure::Sent, &Within::default()) else {
            return Ok(());
        };
        let outside = |at: f64| Rational64::new((at * 1000.0).round() as i64, 1000).unwrap();
        let above = Condition::sent(channel, Bounds::above(outside(range.high + 0.1)));
        let below = Condition::sent(channel, Bounds::below(outside(range.low - 0.1)));
        prop_assert!(program.ask(&Question::is(above.or(below))).witness().is_none(), "{:?}", range);
        let inside = Condition::sent(channel, Bounds::between(outside(range.low - 0.2), outside(range.low + 0.2)));
        prop_assert!(!program.ask(&Question::is(inside)).is_no(), "the low end of {:?} is never reached", range);
    }
}

/// Of tangled models, with values three deep, latches in chains, and channels of channels, one question in thirty may stay
/// open: products and joined axes that come close to a limit.
#[test]
fn few_questions_about_tangled_models_stay_open() {
    let (mut all, mut reasons) = (0, std::collections::BTreeMap::<String, usize>::new());
    for seed in 0..150 {
        let mut dice = Dice::new(seed);
        let parts = tangled::model(&mut dice).parts().clone();
        for at in 0..8 {
            // Each question has a model's whole budget before it.
            let program = Program::new(parts.clone()).unwrap();
            let question = tangled::question(&mut dice, &parts);
            all += 1;
            if let Answer::NotDecided(why) = program.ask(&question) {
                println!("seed {seed}, question {at}: {why}, {} regions: {question:?}", program.allowance().spent());
                *reasons.entry(why.to_string()).or_default() += 1;
            }
        }
    }
    let open: usize = reasons.values().sum();
    println!("{open} of {all} stay open: {reasons:#?}");
    assert!(open * 30 <= all, "{open} of {all} stay open: {reasons:#?}");
}

/// What a tangled model was seen to do on a way through random movements is never said to be impossible: all its pulses there, each
/// within a few microseconds, and what its latches remember.
#[test]
fn what_was_played_is_never_denied() {
    let (mut asked, mut denied) = (0, 0);
    for seed in 0..400 {
        let mut dice = Dice::new(seed);
        let parts = tangled::model(&mut dice).parts().clone();
        let program = Program::new(parts.clone()).unwrap();
        let mut path = Path::at(program.rest());
        for _ in 0..6 {
            let control = dice.below(parts.controls.len());
            let to = match &parts.controls[control].kind {
                ControlKind::Switch { positions, .. } => Setting::Position(dice.below(positions.len()) as u8),
                ControlKind::Button { .. } => Setting::Position(dice.below(2) as u8),
                _ => Setting::Percent(whole(dice.below(201) as i64 - 100)),
            };
            path = path.then(ControlId(control as u16), to);
        }
        let seen = program.play(&path);
        let mut state = Condition::All(Vec::new());
        for channel in &parts.channels {
            let sent = seen.channel(channel.number).unwrap().sent.clone();
            let (around, wide) = (approximate(&sent).round() as i64, 1 + dice.below(30) as i64);
            let near = Bounds::between(whole(around - wide), whole(around + wide));
            state = state.and(Condition::sent(channel.number, near));
        }
        for at in 0..parts.conditions.len() {
            let latch = Condition::Named(ConditionId(at as u16));
            let holds = program.holds(&path, &latch).unwrap();
            state = state.and(if holds { latch } else { latch.not() });
        }
        assert_eq!(program.holds(&path, &state), Some(true), "seed {seed}");
        asked += 1;
        if program.ask(&Question::is(state)).is_no() {
            println!("seed {seed}: {path:?}");
            denied += 1;
        }
    }
    assert_eq!(denied, 0, "of {asked}");
}
