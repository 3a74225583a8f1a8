//! Random models whose values bend, and the same put to a grid of positions computed with NumPy and SciPy.

use crate::random_models::dice::Dice;
use serde_json::{Value as Json, json};
use std::io::Write as _;
use std::process::{Command, Stdio};
use walkaround::signal::*;

/// How many places of each model are compared one by one.
const PLACES: usize = 60;

/// Two sticks with rates and expo, curves, and one channel that bends.
pub(crate) struct Bent {
    pub(crate) program: Program,
    /// Positions of the two sticks.
    pub(crate) places: Vec<[Rational64; 2]>,
}

/// Curves that pilots use and curves that nobody should.
const POINTS: [&[(i64, i64)]; 5] = [
    &[(-100, -100), (-50, -20), (0, 0), (50, 20), (100, 100)],
    &[(-100, -100), (-50, -80), (0, 0), (50, 10), (100, 10)],
    &[(-100, 40), (0, 60), (100, 100)],
    &[(-100, -30), (-20, 70), (10, -50), (80, 0)],
    &[(-90, 90), (90, -90)],
];

pub(crate) fn bent(dice: &mut Dice, budget: u64) -> Bent {
    loop {
        let stick = |name: &str, function, dice: &mut Dice| {
            let rate = Rate {
                rate: whole(*dice.pick(&[50, 70, 100, 120])),
                expo: whole(*dice.pick(&[0, 25, 30, 60, 100, -50, -20])),
                when: None,
            };
            Control {
                name: name.into(),
                kind: ControlKind::Stick { function, trim: None, rates: vec![rate], sprung: true },
            }
        };
        let controls = vec![stick("roll", Function::Roll, dice), stick("pitch", Function::Pitch, dice)];
        let curves = (0..2).map(|_| curve(dice, dice_points)).collect();
        let travel = *dice.pick(&[(-150, 150), (-150, 150), (-100, 100), (-80, 120)]);
        let channel = Channel {
            reversed: dice.chance(30),
            subtrim: whole(*dice.pick(&[0, 0, 7, -12])),
            travel: (whole(travel.0), whole(travel.1)),
            ..Channel::new(1, value(dice, 3))
        };
        let parts = Parts { controls, curves, channels: vec![channel], ..Parts::default() };
        if bends(&parts.channels[0].lines[0].value)
            && let Ok(program) = Program::new(parts)
        {
            let places = (0..PLACES).map(|_| [place(dice), place(dice)]).collect();
            return Bent { program: program.with_budget(budget), places };
        }
    }
}

fn dice_points(dice: &mut Dice) -> Vec<(Rational64, Rational64)> {
    dice.pick(&POINTS).iter().map(|&(x, y)| (whole(x), whole(y))).collect()
}

/// Two to nine points anywhere.
pub(crate) fn any_points(dice: &mut Dice) -> Vec<(Rational64, Rational64)> {
    let count = 2 + dice.below(8);
    let mut xs: Vec<i64> = (0..count).map(|_| dice.below(2001) as i64 - 1000).collect();
    xs.sort_unstable();
    xs.dedup();
    if xs.len() < 2 {
        return any_points(dice);
    }
    // Heights repeat now and then, so that flat pieces and turns come up.
    xs.into_iter().map(|x| (Rational64::new(x, 10).unwrap(), whole(dice.below(21) as i64 * 10 - 100))).collect()
}

pub(crate) fn curve(dice: &mut Dice, points: fn(&mut Dice) -> Vec<(Rational64, Rational64)>) -> Curve {
    Curve { name: "soft".into(), points: points(dice), rounded: dice.chance(70) }
}

/// A position in tenths of a percent.
pub(crate) fn place(dice: &mut Dice) -> Rational64 {
    Rational64::new(dice.below(2001) as i64 - 1000, 10).unwrap()
}

fn value(dice: &mut Dice, depth: usize) -> Value {
    if depth > 0 && dice.chance(70) {
        let next = |dice: &mut Dice| Box::new(value(dice, depth - 1));
        return match dice.below(9) {
            0 => Value::Add(next(dice), next(dice)),
            1 => Value::Subtract(next(dice), next(dice)),
            2 => Value::Min(next(dice), next(dice)),
            3 => Value::Max(next(dice), next(dice)),
            4 | 5 => Value::Multiply(next(dice), next(dice)),
            6 => Value::Negate(next(dice)),
            _ => Value::Curve(CurveId(dice.below(2) as u16), next(dice)),
        };
    }
    let stick = ControlId(dice.below(2) as u16);
    match dice.below(6) {
        0 => Value::percent(*dice.pick(&[-40, 30, 80])),
        1 => Value::Unshaped(stick),
        _ => Value::Control(stick),
    }
}

/// Whether a value has a part that is not linear in its sticks, and a stick at all.
fn bends(value: &Value) -> bool {
    let text = format!("{value:?}");
    let has_stick = text.contains("ControlId");
    has_stick && (text.contains("Multiply") || text.contains("Curve") || text.contains("Control("))
}

/// What NumPy and SciPy say of a model.
#[derive(serde::Deserialize)]
pub(crate) struct Told {
    /// The pulse sent, at each of the places.
    pub(crate) pulses: Vec<f64>,
    pub(crate) least: f64,
    pub(crate) greatest: f64,
}

#[derive(serde::Deserialize)]
pub(crate) struct Answers {
    pub(crate) models: Vec<Told>,
    pub(crate) curves: Vec<Vec<f64>>,
}

/// Puts models, and curves with the places to read them at, to the script.
pub(crate) fn ask(models: &[Bent], curves: &[(Curve, Vec<Rational64>)]) -> Answers {
    let number = |number: &Rational64| json!(number.near());
    let list = |numbers: Vec<&Rational64>| Json::Array(numbers.into_iter().map(number).collect());
    let curve_json = |curve: &Curve| {
        let points: Vec<Json> = curve.points.iter().map(|(x, y)| list(vec![x, y])).collect();
        json!({"points": points, "rounded": curve.rounded})
    };
    let models: Vec<Json> = models
        .iter()
        .map(|bent| {
            let parts = bent.program.parts();
            let channel = &parts.channels[0];
            let rates: Vec<Json> = parts.controls.iter().map(rate).collect();
            let places = [0, 1].map(|stick| list(bent.places.iter().map(|place| &place[stick]).collect()));
            json!({
                "value": tree(&channel.lines[0].value),
                "rates": rates,
                "curves": parts.curves.iter().map(curve_json).collect::<Vec<_>>(),
                "reversed": channel.reversed,
                "subtrim": number(&channel.subtrim),
                "travel": list(vec![&channel.travel.0, &channel.travel.1]),
                "places": places,
            })
        })
        .collect();
    let curves: Vec<Json> = curves
        .iter()
        .map(|(curve, places)| {
            let mut asked = curve_json(curve);
            asked["places"] = list(places.iter().collect());
            asked
        })
        .collect();
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/all/outside_grid/grid.py");
    let mut child = Command::new("python3")
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("python3 is installed");
    let mut to = child.stdin.take().unwrap();
    to.write_all(json!({"models": models, "curves": curves}).to_string().as_bytes()).unwrap();
    drop(to);
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "the script fails; are numpy and scipy installed?");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn rate(control: &Control) -> Json {
    let ControlKind::Stick { rates, .. } = &control.kind else { panic!("every control is a stick") };
    json!([rates[0].rate.near(), rates[0].expo.near()])
}

fn tree(value: &Value) -> Json {
    let pair = |word: &str, a: &Value, b: &Value| json!([word, tree(a), tree(b)]);
    match value {
        Value::Percent(percent) => json!(["percent", percent.near()]),
        Value::Control(id) => json!(["stick", id.0]),
        Value::Unshaped(id) => json!(["unshaped", id.0]),
        Value::Curve(id, of) => json!(["curve", id.0, tree(of)]),
        Value::Negate(of) => json!(["negate", tree(of)]),
        Value::Min(a, b) => pair("min", a, b),
        Value::Max(a, b) => pair("max", a, b),
        Value::Add(a, b) => pair("add", a, b),
        Value::Subtract(a, b) => pair("subtract", a, b),
        Value::Multiply(a, b) => pair("multiply", a, b),
        Value::Channel(_) | Value::Unknown(_) => panic!("there is one channel, and it is known"),
    }
}
