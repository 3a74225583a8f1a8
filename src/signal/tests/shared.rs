//! Programs that share answers, against programs that are asked alone.

use super::random::{asked, percents};
use crate::signal::*;
use proptest::prelude::*;

/// The same parts with one thing changed, and every name.
fn changed(parts: &Parts, which: usize, to: Rational64) -> Parts {
    let mut parts = parts.clone();
    parts.channels.iter_mut().for_each(|channel| channel.name.push('x'));
    parts.conditions.iter_mut().for_each(|named| named.name.push('x'));
    let channel = |at: usize| at % 3;
    match which {
        0..3 => parts.channels[which].reversed ^= true,
        3..6 => parts.channels[channel(which)].subtrim = to,
        6..9 => parts.channels[channel(which)].carriage = Carriage::Levels(5),
        9..12 => parts.channels[channel(which)].lines.reverse(),
        12 => parts.curves[0].rounded = true,
        13 => parts.curves[0].points[1].1 = to,
        14 => parts.scale.span = whole(400),
        15 => {
            if let ControlKind::Stick { rates, .. } = &mut parts.controls[3].kind {
                rates.push(Rate { rate: whole(55), expo: whole(0), when: None });
            }
        }
        16..19 => {
            let named = &mut parts.conditions[which - 16].kind;
            *named = match named.clone() {
                NamedKind::Plain(condition) => NamedKind::Plain(condition.not()),
                NamedKind::Toggle(on) => NamedKind::Plain(on),
                NamedKind::Latch { set, reset } => NamedKind::Latch { set: reset, reset: set },
            };
        }
        19 => parts.channels[2].number = 9,
        _ => {}
    }
    parts
}

fn questions(first: &Condition, second: &Condition) -> Vec<Question> {
    let is = Question::is(first.clone());
    let kept = Kept::At(Setting::Percent(whole(30)));
    vec![
        is.clone().keeping(Handle::Control(ControlId(3)), kept),
        is.clone().then(Movers::These(vec![ControlId(0)]), second.clone()),
        is.clone().then(Movers::SwitchesAndButtons, second.clone()),
        is.clone().then(Movers::Any, second.clone()),
        is.clone().then_to(ControlId(1), Setting::Position(2), second.clone()),
        is,
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    /// What others were asked changes no answer.
    #[test]
    fn shared_answers_are_those_of_each_program_alone(
        (parts, [first, second]) in asked(), changes in prop::collection::vec((0_usize..21, percents()), 4),
    ) {
        let shared = Answers::default();
        let all = std::iter::once(parts.clone()).chain(changes.iter().map(|&(which, to)| changed(&parts, which, to)));
        for parts in all {
            let (Ok(alone), Ok(program)) = (Program::new(parts.clone()), Program::new(parts)) else { continue };
            let program = program.with_answers(&shared);
            // Each is asked with a model's whole budget before it: what runs out is not what is compared.
            let anew = || [&alone, &program].map(|program| program.clone().with_allowance(&Allowance::default()));
            for question in questions(&first, &second) {
                let [alone, program] = anew();
                let found = program.decide(&question);
                match alone.ask(&question) {
                    Answer::Yes(_) => prop_assert_eq!(found, Ok(true)),
                    Answer::No(_) => prop_assert_eq!(found, Ok(false)),
                    // One that alone is not decided may be known from another.
                    Answer::NotDecided(_) => {}
                }
                prop_assert_eq!(program.ask(&question).is_no(), found == Ok(false));
            }
            for channel in [1, 2, 3] {
                let [alone, program] = anew();
                let within = Within { given: first.clone(), ..Within::default() };
                let (found, expected) =
                    (program.range(channel, Measure::Received, &within), alone.range(channel, Measure::Received, &within));
                if !matches!(expected, Some(Reach::NotDecided(_))) {
                    prop_assert_eq!(found, expected);
                }
            }
            for channel in [1, 2, 3] {
                let [alone, program] = anew();
                let rest = Path::at(program.rest());
                for path in [rest.clone(), rest.then(ControlId(1), Setting::Position(2)).then(ControlId(0), Setting::Position(1))] {
                    let jump = |program: &Program| program.greatest_jump(&program.end_of(&path), ControlId(3), 10, channel);
                    prop_assert_eq!(jump(&program), jump(&alone));
                }
            }
            let [alone, program] = anew();
            let (found, expected) = (program.trapped(&first, &second), alone.trapped(&first, &second));
            if !matches!(expected, Answer::NotDecided(_)) {
                prop_assert_eq!(found.is_no(), expected.is_no());
            }
        }
    }
}

/// A program in which one switch arms, with rates of its own.
fn arms(rate: i64, limit: i64) -> (Program, Question) {
    let mut controls = super::random::controls();
    if let ControlKind::Stick { rates, .. } = &mut controls[3].kind {
        rates.push(Rate { rate: whole(rate), expo: whole(0), when: None });
    }
    let channels =
        vec![Channel::new(1, Value::Control(ControlId(3))), Channel::new(7, Value::Control(ControlId(0))).levels(2)];
    let program = Program::new(Parts { controls, channels, ..Parts::default() }).unwrap();
    (program, Question::received(7, Bounds::above(whole(limit))))
}

#[test]
fn what_is_alike_is_not_looked_at_again() {
    let shared = Answers::default();
    let looked = |rate, limit| {
        let (program, question) = arms(rate, limit);
        let program = program.with_answers(&shared);
        assert_eq!(program.decide(&question), Ok(true));
        program.kept.borrow().dag.sizes() != (0, 0)
    };
    assert!(looked(70, 1660));
    assert!(!looked(70, 1660));
    // Other rates are of no account to the arming channel; another limit is.
    assert!(!looked(80, 1660));
    assert!(looked(80, 1651));
}

#[test]
fn a_budget_of_its_own_is_kept_apart() {
    let shared = Answers::default();
    let (program, question) = arms(70, 1660);
    assert_eq!(program.with_answers(&shared).decide(&question), Ok(true));
    let (program, _) = arms(70, 1660);
    assert_eq!(program.with_budget(0).with_answers(&shared).decide(&question), Err(Why::Budget));
}

#[test]
fn answers_are_forgotten_all_at_once_and_never_mixed_up() {
    let shared = Answers::default();
    for limit in 1000..12_000 {
        let (program, question) = arms(70, limit);
        assert_eq!(program.with_answers(&shared).decide(&question), Ok(limit < 2000), "{limit}");
    }
}
