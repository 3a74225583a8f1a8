//! The signal path against published values and worked cases, each with its source beside it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use walkaround::signal::*;

/// x − x² is at most 1/4, at x = 1/2: 1625 us, the tie between 1500 us and 1750 us on five levels, which goes to the lower
/// (DESIGN 4.8). The end of such a value is found only nearly: a level is then exact or not decided, never one too far.
#[test]
fn a_range_that_bends_near_a_tie_is_no_level_too_far() {
    let roll = || Value::Control(ControlId(0));
    let reach = |subtrim: Number| {
        let channel = Channel { subtrim, ..Channel::new(1, roll().minus(roll().times(roll()))) };
        let program = Program::new(Parts {
            controls: vec![Control::stick("roll", Function::Roll)],
            channels: vec![channel.levels(5)],
            ..Parts::default()
        })
        .unwrap();
        program.range(1, Measure::Received, &Within::default()).unwrap()
    };
    let range = |high| Reach::Range(Range { measure: Measure::Received, low: 1000.0, high });
    let on_the_tie = reach(whole(0));
    assert!([range(1500.0), Reach::NotDecided(Why::TooClose)].contains(&on_the_tie), "{on_the_tie:?}");
    assert_eq!(reach(Number::new(-1, 10)), range(1500.0));
    assert_eq!(reach(Number::new(1, 10)), range(1750.0));
}
