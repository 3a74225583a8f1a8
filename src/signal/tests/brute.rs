//! The query against a walk over a grid of positions.

use super::naive::{Grid, Naive, all_grids, following, pasts, reachable};
use super::random::{asked, parts, percents};
use crate::signal::*;
use proptest::prelude::*;

const CONTROLS: usize = 5;

/// A state as the grid would write it, if it could.
fn grid(stand: &Stand) -> Grid {
    let mut grid = [0.0; CONTROLS];
    for (place, at) in grid.iter_mut().zip(&stand.controls) {
        *place = match at {
            Setting::Percent(at) => at.near(),
            Setting::Position(at) => f64::from(*at),
        };
    }
    grid
}

fn one_more(parts: &Parts, grid: Grid, who: &Movers, see: &mut dyn FnMut(Grid)) {
    let values = [&[0.0, 1.0][..], &[0.0, 1.0, 2.0], &[0.0, 1.0], &super::naive::AXES, &super::naive::AXES];
    for (index, values) in values.into_iter().enumerate() {
        let allowed = match who {
            Movers::These(list) => list.contains(&ControlId(index as u16)),
            Movers::Any => true,
            Movers::SwitchesAndButtons | Movers::NotSticks => {
                index < 3 && parts.controls[index].kind != ControlKind::Reported
            }
        };
        for &value in values.iter().filter(|value| allowed && (index > 2 || **value != grid[index])) {
            let mut next = grid;
            next[index] = value;
            see(next);
        }
    }
}

fn movers() -> impl Strategy<Value = Movers> {
    prop_oneof![
        (0_u16..5).prop_map(|id| Movers::These(vec![ControlId(id)])),
        Just(Movers::Any),
        Just(Movers::SwitchesAndButtons),
    ]
}

/// A number close to a floating-point number.
fn about(value: f64) -> Rational64 {
    Rational64::new((value * 1000.0).round() as i64, 1000).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    /// A yes replays; a no is not contradicted on the grid; question and contrary are never both no.
    #[test]
    fn answers_agree_with_the_grid((parts, [asked]) in asked()) {
        // Constants can multiply to numbers finer than a program takes; such parts are refused, not misread.
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        let yes = program.ask(&Question::is(asked.clone()));
        let no = program.ask(&Question::is(asked.clone().not()));
        prop_assert!(!(yes.is_no() && no.is_no()));
        match &yes {
            Answer::Yes(witness) => prop_assert_eq!(program.holds(&witness.path, &asked), Some(true)),
            Answer::No(_) => prop_assert!(!reachable(&parts, &asked)),
            Answer::NotDecided(_) => {}
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 30, ..ProptestConfig::default() })]

    /// A yes about one movement replays, with a movement that is allowed; a no is not contradicted.
    #[test]
    fn answers_about_one_movement_agree_with_the_grid(
        (parts, [from, to]) in asked(), who in movers(),
    ) {
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        match program.ask(&Question::is(from.clone()).then(who.clone(), to.clone())) {
            Answer::Yes(witness) => {
                let path = witness.path_then(0);
                prop_assert_eq!(program.holds(&witness.path, &from), Some(true));
                prop_assert_eq!(program.holds(&path, &to), Some(true));
                let (before, after) = (grid(&witness.path.end()), grid(&path.end()));
                let moved: Vec<usize> = (0..CONTROLS).filter(|&at| before[at] != after[at]).collect();
                prop_assert!(moved.len() < 2);
                if let (Movers::These(list), [one]) = (&who, moved.as_slice()) {
                    prop_assert_eq!(list, &vec![ControlId(*one as u16)]);
                }
            }
            Answer::No(_) => {
                for (latched, before) in pasts(&parts).into_iter().take(8) {
                    for now in all_grids().into_iter().step_by(5) {
                        for held in [(false, false), (false, true), (true, false), (true, true)] {
                            let mut first = Naive::new(&parts, now, before, latched.clone(), held.0);
                            if !first.condition(&from) {
                                continue;
                            }
                            let latches = first.latches();
                            let mut found = false;
                            one_more(&parts, now, &who, &mut |next| {
                                let mut after = first.next(next, latches.clone(), held.1);
                                found = found || after.condition(&to);
                            });
                            prop_assert!(!found, "from {now:?}");
                        }
                    }
                }
            }
            Answer::NotDecided(_) => {}
        }
    }

    /// Every pulse of the grid lies in the range found, and the ends are no further than what is reached.
    #[test]
    fn ranges_agree_with_the_grid(
        (parts, [given]) in asked(), kept in prop::option::of(percents()), channel in 1_u16..4,
    ) {
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        let handle = Handle::Control(ControlId(3));
        let fixed = kept.map(|at| (handle, Kept::At(Setting::Percent(at))));
        let within = Within { given: given.clone(), fixed: fixed.into_iter().collect() };
        let reach = program.range(channel, Measure::Sent, &within);
        let mut ends: Option<(f64, f64)> = None;
        let none = vec![false; parts.conditions.len()];
        following(&parts, vec![(none, None)], &mut |naive| {
            if kept.is_none_or(|at| naive.now[3] == at.near()) && naive.condition(&given) {
                let pulse = naive.measure(channel, Measure::Sent);
                let (low, high) = ends.unwrap_or((pulse, pulse));
                ends = Some((low.min(pulse), high.max(pulse)));
            }
        });
        match reach {
            Some(Reach::Range(range)) => {
                if let Some((low, high)) = ends {
                    prop_assert!(range.low <= low + 1e-6 && high <= range.high + 1e-6, "{range:?}, not {ends:?}");
                }
                for end in [Bounds::at_least(about(range.high - 0.2)), Bounds::at_most(about(range.low + 0.2))] {
                    let near = Condition::sent(channel, end).and(given.clone());
                    let question = Question { fixed: within.fixed.clone(), ..Question::is(near) };
                    prop_assert!(!program.ask(&question).is_no(), "{range:?} is too wide");
                }
            }
            Some(Reach::Nowhere) => prop_assert_eq!(ends, None),
            Some(Reach::NotDecided(_)) => {}
            None => prop_assert!(false, "every channel is sent"),
        }
    }

    /// A control that moves a channel on the grid is among those that are said to.
    #[test]
    fn controls_that_move_a_channel_are_named(parts in parts(), channel in 1_u16..4) {
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        let named = program.moved_by(channel).unwrap();
        for (latched, before) in pasts(&parts).into_iter().take(3) {
            for now in all_grids().into_iter().step_by(5) {
                let pulse = Naive::new(&parts, now, before, latched.clone(), false).measure(channel, Measure::Percent);
                for id in (0..5).map(ControlId).filter(|id| !named.contains(id)) {
                    one_more(&parts, now, &Movers::These(vec![id]), &mut |next| {
                        let mut other = Naive::new(&parts, next, before, latched.clone(), false);
                        assert!(other.measure(channel, Measure::Percent) == pulse, "{id:?} moves channel {channel}");
                    });
                }
            }
        }
    }

    /// From a state that nothing is said to lead out of, nothing on the grid does.
    #[test]
    fn nothing_leads_out_of_where_nothing_should((parts, [inside, outside]) in asked()) {
        let Ok(program) = Program::new(parts.clone()) else { return Ok(()) };
        let Answer::Yes(witness) = program.trapped(&inside, &outside) else { return Ok(()) };
        prop_assert_eq!(program.holds(&witness.path, &inside), Some(true));
        let is_latch = |named: &Named| !matches!(named.kind, NamedKind::Plain(_));
        let conditions = program.play(&witness.path).conditions;
        let latched = parts.conditions.iter().zip(&conditions).map(|(named, on)| is_latch(named) && *on == Some(true)).collect();
        let mut found = None;
        following(&parts, vec![(latched, Some(grid(&witness.path.end())))], &mut |naive| {
            if found.is_none() && naive.condition(&outside) {
                found = Some(naive.now);
            }
        });
        prop_assert_eq!(found, None);
    }

    /// Levels: the pulse received of a state is one of the levels, the nearest, the lower of two.
    #[test]
    fn levels_received_are_the_nearest(parts in parts(), channel in 1_u16..4) {
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let reading = program.play(&Path::at(program.rest()));
        let Some(Carriage::Levels(n)) = program.channel(channel).map(|c| c.carriage) else { return Ok(()) };
        let reading = reading.channel(channel).unwrap();
        let (sent, received) = (reading.sent.0.big(), reading.received.clone().unwrap().0.big());
        let big = |n: i64, d: i64| exact(Rational64::new(n, d).unwrap()).0.big();
        let step = big(1000, i64::from(n) - 1);
        prop_assert!(((&received - big(1000, 1)) / &step).is_integer());
        let (off, half) = (&sent - &received, &step * big(1, 2));
        let inside = sent >= big(1000, 1) && sent <= big(2000, 1);
        prop_assert!(!inside || off <= half && off > -half, "{sent} became {received}");
    }
}
