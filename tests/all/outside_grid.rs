//! Values that bend (expo, rounded curves, products of sticks) against NumPy and SciPy: a script computes them from the
//! formulas on a fine grid of stick positions. `.ci/install-outside-tools` installs both; a tool that is missing fails these
//! tests and never skips them.

mod bends;

use crate::random_models::dice::Dice;
use bends::{Bent, any_points, ask, bent, curve, place};
use walkaround::signal::*;

/// Regions looked at before a range is given up: fewer than the program's own, since a debug build is slow.
const BUDGET: u64 = 5_000;

/// Where the sticks stand; the pulse sent on channel 1 then, and its value before output.
fn read(program: &Program, sticks: &[Rational64]) -> (f64, f64) {
    let mut stand = program.rest();
    for (id, &at) in (0..).map(ControlId).zip(sticks) {
        stand.set(Handle::Control(id), Setting::Percent(at));
    }
    let reading = program.play(&Path::at(stand));
    let channel = reading.channel(1).unwrap();
    (approximate(&channel.sent), approximate(&channel.percent))
}

#[test]
fn ranges_hold_a_fine_grid_and_fit_it() {
    let models: Vec<Bent> = (0..120).map(|seed| bent(&mut Dice::new(seed), BUDGET)).collect();
    let answers = ask(&models, &[]);
    let mut decided = 0;
    for (seed, (bent, told)) in models.iter().zip(&answers.models).enumerate() {
        let about = || format!("seed {seed}: {:?}", bent.program.parts());
        for (place, theirs) in bent.places.iter().zip(&told.pulses) {
            let (ours, _) = read(&bent.program, place);
            assert!((ours - theirs).abs() < 1e-6, "at {place:?} {ours} us, the script {theirs} us; {}", about());
        }
        let range = match bent.program.range(1, Measure::Sent, &Within::default()).unwrap() {
            Reach::Range(range) => range,
            Reach::Nowhere => panic!("a channel is somewhere; {}", about()),
            Reach::NotDecided(why) => {
                println!("not decided, {why:?}: seed {seed}");
                continue;
            }
        };
        decided += 1;
        let (least, greatest) = (told.least, told.greatest);
        let fits = range.low <= least + 1e-6 && range.high >= greatest - 1e-6;
        assert!(fits, "{range:?} leaves out {least} us or {greatest} us; {}", about());
        let close = range.low >= least - 0.2 && range.high <= greatest + 0.2;
        assert!(close, "{range:?} is wider than {least} us to {greatest} us; {}", about());
    }
    println!("{decided} ranges of {} decided", models.len());
    assert!(decided >= 100, "only {decided} of {} ranges are decided", models.len());
}

#[test]
fn curves_are_those_of_two_libraries() {
    let mut dice = Dice::new(7);
    let curves: Vec<(Curve, Vec<Rational64>)> = (0..200)
        .map(|_| {
            let curve = curve(&mut dice, any_points);
            let mut places: Vec<Rational64> = (0..40).map(|_| place(&mut dice)).collect();
            // Each point itself, and both ends.
            places.extend(curve.points.iter().map(|point| point.0));
            places.extend([whole(-100), whole(100)]);
            (curve, places)
        })
        .collect();
    let smooth = curves.iter().filter(|(curve, _)| curve.rounded).count();
    assert!((100..180).contains(&smooth), "both kinds come up");
    let answers = ask(&[], &curves);
    for ((curve, places), theirs) in curves.into_iter().zip(answers.curves) {
        let program = Program::new(Parts {
            controls: vec![Control::stick("roll", Function::Roll)],
            curves: vec![curve.clone()],
            channels: vec![Channel::new(1, Value::Unshaped(ControlId(0)).through(CurveId(0)))],
            ..Parts::default()
        })
        .unwrap();
        assert_eq!(places.len(), theirs.len());
        for (at, theirs) in places.iter().zip(theirs) {
            let (_, ours) = read(&program, &[*at]);
            assert!((ours - theirs).abs() < 1e-9, "at {at}: {ours}, the library {theirs}; {curve:?}");
        }
    }
}
