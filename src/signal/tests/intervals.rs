//! Interval arithmetic against published results of IEEE 1788 (testdata/intervals/ieee1788.txt names the source).

use crate::signal::number::interval::Interval;

/// `(line, operation, operands, result)`.
fn cases() -> Vec<(&'static str, &'static str, [f64; 4], Interval)> {
    let text = include_str!("../../../testdata/intervals/ieee1788.txt");
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| {
            let mut words = line.split_whitespace();
            let operation = words.next().unwrap();
            let numbers: Vec<f64> = words.map(|word| word.parse().unwrap()).collect();
            let [a, b, c, d, low, high] = numbers[..] else { panic!("six numbers in {line:?}") };
            (line, operation, [a, b, c, d], Interval { low, high })
        })
        .collect()
}

fn compute(operation: &str, [a, b, c, d]: [f64; 4]) -> Interval {
    let (x, y) = (Interval { low: a, high: b }, Interval { low: c, high: d });
    match operation {
        "add" => x.add(y),
        "sub" => x.sub(y),
        "mul" => x.mul(y),
        // Ours divides by one positive number; the extremes of a quotient are at the ends of a divisor without 0.
        "div" if c > 0.0 => x.div(c).hull(x.div(d)),
        "div" => x.negate().div(-c).hull(x.negate().div(-d)),
        "power" => x.power(c as usize),
        _ => panic!("operation {operation:?}"),
    }
}

#[test]
fn every_published_result_is_enclosed() {
    let cases = cases();
    for operation in ["add", "sub", "mul", "div", "power"] {
        assert!(cases.iter().filter(|case| case.1 == operation).count() >= 10, "{operation} is there");
    }
    for (line, operation, operands, theirs) in cases {
        let ours = compute(operation, operands);
        assert!(ours.low <= theirs.low && theirs.high <= ours.high, "{line}: {ours:?}");
    }
}

#[test]
fn what_one_rounding_gives_is_as_tight_as_published() {
    for (line, operation, operands, theirs) in cases() {
        // What overflows is told as everything; a power rounds several times.
        if theirs.low.is_finite() && theirs.high.is_finite() && operation != "power" {
            assert_eq!(compute(operation, operands), theirs, "{line}");
        }
    }
}

#[test]
fn a_power_is_wider_by_no_more_than_its_roundings() {
    let cases =
        cases().into_iter().filter(|case| case.1 == "power" && case.3.high.is_finite() && case.3.low.is_finite());
    let mut compared = 0;
    for (line, _, operands, theirs) in cases {
        let ours = compute("power", operands);
        // One step of the last place for each multiplication.
        let slack = |at: f64| at.abs() * f64::EPSILON * operands[2];
        assert!(theirs.low - ours.low <= slack(theirs.low), "{line}: {ours:?}");
        assert!(ours.high - theirs.high <= slack(theirs.high), "{line}: {ours:?}");
        compared += 1;
    }
    assert!(compared >= 30, "only {compared} powers");
}
