//! The signal path against published values and worked cases, each with its source beside it.

use walkaround::signal::*;

/// x − x² is at most 1/4, at x = 1/2: 1625 us, the tie between 1500 us and 1750 us on five levels, which goes to the lower
/// (DESIGN 4.8). The end of such a value is found only nearly: a level is then exact or not decided, never one too far.
#[test]
fn a_range_that_bends_near_a_tie_is_no_level_too_far() {
    let roll = || Value::Control(ControlId(0));
    let reach = |subtrim: Rational64| {
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
    assert_eq!(reach(Rational64::new(-1, 10).unwrap()), range(1500.0));
    assert_eq!(reach(Rational64::new(1, 10).unwrap()), range(1750.0));
}

/// A decimal as a description states it.
fn number(text: &str) -> Rational64 {
    let (whole, part) = text.split_once('.').unwrap_or((text, ""));
    Rational64::decimal(format!("{whole}{part}").parse().unwrap(), part.len() as u32).unwrap()
}

/// A program whose first channel is this value of the stick roll (control 0).
fn of_roll(value: Value, change: impl FnOnce(&mut Parts)) -> Program {
    let mut parts = Parts {
        controls: vec![Control::stick("roll", Function::Roll)],
        channels: vec![Channel::new(1, value)],
        ..Parts::default()
    };
    change(&mut parts);
    Program::new(parts).unwrap()
}

/// Channel 1 with the stick there, in percent.
fn at(program: &Program, roll: Rational64) -> ChannelReading {
    let mut stand = program.rest();
    stand.set(Handle::Control(ControlId(0)), Setting::Percent(roll));
    program.play(&Path::at(stand)).channels.swap_remove(0)
}

fn curve(points: &[(&str, &str)], rounded: bool) -> Program {
    let points = points.iter().map(|(x, y)| (number(x), number(y))).collect();
    of_roll(Value::Unshaped(ControlId(0)).through(CurveId(0)), |parts| {
        parts.curves.push(Curve { name: "soft".into(), points, rounded });
    })
}

fn near(program: &Program, values: &[(&str, f64)], within: f64) {
    for &(x, y) in values {
        let ours = approximate(&at(program, number(x)).percent);
        assert!((ours - y).abs() <= within, "at {x}: {ours}, published {y}");
    }
}

/// Source: SciPy 1.17.1, PchipInterpolator.
#[test]
fn smooth_curves_are_those_of_a_published_implementation() {
    let soft = curve(&[("-100", "-100"), ("-50", "-20"), ("0", "0"), ("50", "20"), ("100", "100")], true);
    let values = [("-75", -50.25), ("-25", -8.5), ("10", 3.616), ("25", 8.5), ("75", 50.25), ("90", 78.624)];
    near(&soft, &values, 1e-12);
    let flat_end = curve(&[("-100", "-100"), ("-50", "-80"), ("0", "0"), ("50", "10"), ("100", "10")], true);
    near(&flat_end, &[("-75", -94.0), ("-25", -38.222_222_2), ("25", 7.222_222_2), ("75", 10.0)], 1e-7);
}

/// Slopes at the points, by SciPy 1.17.1: 2.2, 0.64, 0.4, 0.64, 2.2 and 0, 0.64, 0.3555556, 0, 0.
#[test]
fn smooth_curves_have_the_published_slopes() {
    let slope = |program: &Program, x: i64| {
        let (step, beside) = if x < 100 { (1e-4, 1) } else { (-1e-4, -1) };
        let beside = Rational64::new(10_000 * x + beside, 10_000).unwrap();
        let value = |at_x: Rational64| approximate(&at(program, at_x).percent);
        (value(beside) - value(whole(x))) / step
    };
    let soft = curve(&[("-100", "-100"), ("-50", "-20"), ("0", "0"), ("50", "20"), ("100", "100")], true);
    let flat_end = curve(&[("-100", "-100"), ("-50", "-80"), ("0", "0"), ("50", "10"), ("100", "10")], true);
    let published = [(&soft, [2.2, 0.64, 0.4, 0.64, 2.2]), (&flat_end, [0.0, 0.64, 0.355_555_6, 0.0, 0.0])];
    for (program, slopes) in published {
        for (x, theirs) in [-100, -50, 0, 50, 100].into_iter().zip(slopes) {
            let ours = slope(program, x);
            assert!((ours - theirs).abs() < 1e-5, "at {x}: {ours}, published {theirs}");
        }
    }
}

/// Data: RPN14 of Fritsch & Carlson, SIAM J. Numer. Anal. 17 (1980) 238-246. Values between the points: SciPy 1.17.1; the
/// slopes at the ends are a convention in which libraries differ (here: three points, one-sided, limited).
#[test]
fn a_smooth_curve_through_the_data_of_the_paper() {
    let paper = curve(
        &[
            ("7.99", "0"),
            ("8.09", "0.0000276429"),
            ("8.19", "0.0437498"),
            ("8.7", "0.169183"),
            ("9.2", "0.469428"),
            ("10", "0.943740"),
            ("12", "0.998636"),
            ("15", "0.999919"),
            ("20", "0.999994"),
        ],
        true,
    );
    let values = [
        ("8.0", 2.767_434e-7),
        ("8.5", 0.116_632_576_9),
        ("9.0", 0.337_534_326_8),
        ("9.5", 0.685_217_945_1),
        ("11", 0.986_043_362_5),
        ("13", 0.999_361_822_1),
    ];
    near(&paper, &values, 1e-10);
    // Rising data give a rising curve: that is what the method is for.
    let heights: Vec<Exact> = (-20..240).map(|x| at(&paper, Rational64::new(x, 10).unwrap()).percent).collect();
    assert!(heights.windows(2).all(|pair| pair[0] <= pair[1]));
}

/// Straight between the points, the end values outside, as numpy.interp (NumPy 2.4.6) gives them.
#[test]
fn straight_curves_hold_their_ends() {
    let straight = curve(&[("-50", "-100"), ("0", "20"), ("40", "0")], false);
    near(&straight, &[("-100", -100.0), ("-50", -100.0), ("-25", -40.0), ("10", 15.0), ("40", 0.0), ("90", 0.0)], 0.0);
}

/// y = k·x³ + (1 − k)·x (common practice, no source for the formula); the values by hand arithmetic.
#[test]
fn expo_is_exact() {
    let table = [
        ("30", "25", "17.96875"),
        ("30", "50", "38.75"),
        ("30", "75", "65.15625"),
        ("50", "50", "31.25"),
        ("100", "50", "12.5"),
        ("0", "50", "50"),
        ("30", "100", "100"),
        ("100", "-50", "-12.5"),
    ];
    for (expo, x, y) in table {
        let rate = Rate { rate: whole(100), expo: number(expo), when: None };
        let stick = ControlKind::Stick { function: Function::Roll, trim: None, rates: vec![rate], sprung: true };
        let program = of_roll(Value::Control(ControlId(0)), |parts| parts.controls[0].kind = stick);
        assert_eq!(at(&program, number(x)).percent, exact(number(y)), "expo {expo} % at {x} %");
    }
}

/// 0.5·x³ + 0.5·x = 0.2 has one real root and no rational one (a rational root of 5x³ + 5x − 2 would be ±1, ±2, ±1/5 or ±2/5: the
/// rational root theorem). The stick can stand there: what nobody can write down is not denied, and is no proof either.
#[test]
fn a_curved_value_that_meets_a_limit_where_no_number_stands_is_not_denied() {
    let rate = Rate { rate: whole(100), expo: whole(50), when: None };
    let stick = ControlKind::Stick { function: Function::Roll, trim: None, rates: vec![rate], sprung: true };
    let program = of_roll(Value::Control(ControlId(0)), |parts| parts.controls[0].kind = stick);
    let at = |low: i64, high: i64| program.ask(&Question::received(1, Bounds::between(whole(low), whole(high))));
    assert!(matches!(at(1600, 1600), Answer::NotDecided(Why::TooClose)), "{:?}", at(1600, 1600));
    assert!(at(1600, 1601).witness().is_some());
    // Two limits closer to each other than their places on the stick can be told apart are still two.
    let hair = Rational64::new(1600 * 1_000_000_000_000 + 1, 1_000_000_000_000).unwrap();
    let received = |bounds| Condition::Channel(1, Measure::Received, bounds);
    let between = Condition::All(vec![received(Bounds::at_least(whole(1600))), received(Bounds::below(hair))]);
    assert!(!program.ask(&Question::is(between)).is_no());
    assert!(at(2001, 2002).is_no());
}

/// The step of n bits over a range of 1000 us is 1000/(2^n − 1) us and the rounding error at most half of it: textbook
/// arithmetic of quantisation. That n bits are 2^n − 1 steps and not 2^n is a convention, the one of DESIGN 4.8.
#[test]
fn levels_have_the_steps_of_their_bits() {
    for (bits, step) in [(8, 3.921_57), (10, 0.977_517), (11, 0.488_520), (12, 0.244_200)] {
        let levels = 1_u32 << bits;
        let program = of_roll(Value::Control(ControlId(0)), |parts| {
            parts.channels[0].carriage = Carriage::Levels(levels);
        });
        let mut seen: Vec<f64> = Vec::new();
        for place in -10_000..=-9_000 {
            let reading = at(&program, Rational64::new(place, 100).unwrap());
            let received = approximate(reading.received.as_ref().unwrap());
            assert!((approximate(&reading.sent) - received).abs() <= step / 2.0 + 1e-5, "{bits} bits at {place}");
            if seen.last() != Some(&received) {
                seen.push(received);
            }
        }
        assert_eq!(seen[0], 1000.0);
        assert!(seen.len() > 10, "{bits} bits: several levels were passed");
        for pair in seen.windows(2) {
            assert!((pair[1] - pair[0] - step).abs() < 1e-5, "{bits} bits: {pair:?}");
        }
        assert_eq!(at(&program, whole(100)).received, Some(exact(whole(2000))));
    }
}

/// A convention, no standard: gpiozero 2.0.1.post3 (BSD-3) moves a servo between 1 ms and 2 ms by default.
#[test]
fn pulses_are_those_of_a_general_servo_library() {
    let program = of_roll(Value::Control(ControlId(0)), |_| {});
    for (value, pulse) in [(-100, 1000), (-50, 1250), (0, 1500), (50, 1750), (100, 2000)] {
        assert_eq!(at(&program, whole(value)).sent, exact(whole(pulse)));
    }
}

/// x·y + x + y/2 over the square of two sticks is greatest, 2.5, at one corner and least, −1.5, at another. Both sticks stand
/// in it twice, so that the parts alone would give −2.5 to 2.5.
#[test]
fn a_value_that_joins_its_sticks_twice_has_its_true_ends() {
    let (roll, pitch) = (|| Value::Control(ControlId(0)), || Value::Control(ControlId(1)));
    let value = roll().times(pitch()).plus(roll()).plus(Value::percent(50).times(pitch()));
    let program = of_roll(value, |parts| parts.controls.push(Control::stick("pitch", Function::Pitch)));
    let Some(Reach::Range(range)) = program.range(1, Measure::Percent, &Within::default()) else {
        panic!("the range is not decided")
    };
    assert!(range.low <= -150.0 && range.high >= 250.0, "{range:?}");
    assert!(range.low > -150.02 && range.high < 250.02, "{range:?}");
}
