//! Two programs held against each other by themselves: what is called the same plays the same wherever it is looked at, and what
//! is not is shown.

use crate::random_models::dice::Dice;
use crate::random_models::pairs::pair;
use walkaround::compare::{Same, same_pulses};
use walkaround::signal::*;

fn with_scale(program: &Program, centre: i64, span: i64) -> Program {
    let scale = Scale { centre: whole(centre), span: whole(span) };
    Program::new(Parts { scale, ..program.parts().clone() }).unwrap()
}

fn received(program: &Program, path: &Path, channel: u16) -> f64 {
    approximate(program.play(path).channel(channel).unwrap().received.as_ref().unwrap())
}

/// A path of some movements anywhere.
fn path(dice: &mut Dice, program: &Program) -> Path {
    let setting = |dice: &mut Dice, control: &Control| match &control.kind {
        ControlKind::Stick { .. } | ControlKind::Axis { .. } => {
            Setting::Percent(whole(*dice.pick(&[-100, -98, -60, -50, -3, 0, 1, 30, 50, 97, 100])))
        }
        ControlKind::Switch { positions, .. } => Setting::Position(dice.below(positions.len()) as u8),
        ControlKind::Button { .. } | ControlKind::Reported => Setting::Position(dice.below(2) as u8),
    };
    let controls = &program.parts().controls;
    let mut path = Path::at(program.rest());
    for _ in 0..dice.below(6) {
        let at = dice.below(controls.len());
        let to = setting(dice, &controls[at]);
        path = path.then(ControlId(at as u16), to);
    }
    path
}

#[test]
fn what_is_the_same_plays_the_same() {
    let (mut same, mut other) = (0, 0);
    for number in 0..120 {
        let mut dice = Dice::new(90_000 + number);
        let (old, mut new) = pair(&mut dice);
        // A third of them on a handset with another scale.
        if number % 3 == 0 {
            new = with_scale(&new, 1510, 450);
        }
        for (channel, verdict) in same_pulses(&old, &new) {
            match verdict {
                Same::Yes => {
                    for _ in 0..40 {
                        let path = path(&mut dice, &old);
                        let (was, is) = (received(&old, &path, channel), received(&new, &path, channel));
                        assert!(
                            (was - is).abs() <= 0.1 + 1e-6,
                            "pair {number}, channel {channel}: {was}, {is} at {path:?}\n{:?}\n{:?}",
                            old.parts(),
                            new.parts()
                        );
                    }
                    same += 1;
                }
                Same::No(paths) => {
                    let (was, is) = (received(&old, &paths.0, channel), received(&new, &paths.1, channel));
                    assert!((was - is).abs() > 0.1, "pair {number}, channel {channel}: {was}, {is}");
                    other += 1;
                }
                Same::NotDecided(_) => {}
            }
        }
    }
    println!("{same} the same, {other} not");
    assert!(same > 100 && other > 100, "{same}, {other}");
}

fn stick(rates: Vec<Rate>) -> Control {
    Control {
        name: "roll".into(),
        kind: ControlKind::Stick { function: Function::Roll, trim: None, rates, sprung: true },
    }
}

fn program(controls: Vec<Control>, channels: Vec<Channel>, scale: Scale) -> Program {
    Program::new(Parts { controls, channels, scale, ..Parts::default() }).unwrap()
}

/// Half the span and twice the value is the same pulse, and a hundredth more is not; modes and conditions in us go with the scale.
#[test]
fn pulses_of_two_scales_are_held_against_each_other() {
    let scale = |span: i64| Scale { centre: whole(1500), span: whole(span) };
    let controls = || vec![stick(Vec::new()), Control::switch("left", &["up", "down"])];
    let high = Condition::sent(1, Bounds::above(whole(1700)));
    let wide = vec![
        Channel::new(1, Value::percent(50).times(Value::Control(ControlId(0)))),
        Channel::of(2, vec![Line::when(Value::percent(50), high.clone()), Line::always(Value::percent(-50))]),
    ];
    let narrow = |of: Value, high: Condition| {
        vec![
            Channel::new(1, of),
            Channel::of(2, vec![Line::when(Value::percent(100), high), Line::always(Value::percent(-100))]),
        ]
    };
    let old = program(controls(), wide, scale(500));
    let roll = || Value::Control(ControlId(0));
    let new = program(controls(), narrow(roll(), high.clone()), scale(250));
    assert_eq!(same_pulses(&old, &new), [(1, Same::Yes), (2, Same::Yes)]);
    assert_eq!(same_pulses(&new, &old), [(1, Same::Yes), (2, Same::Yes)]);
    let nearly = Value::Percent(Rational64::new(9990, 100).unwrap()).times(roll());
    let new = program(controls(), narrow(nearly, high), scale(250));
    assert!(matches!(same_pulses(&old, &new)[..], [(1, Same::No(_)), (2, Same::No(_) | Same::Yes)]));
    let later = Condition::sent(1, Bounds::above(whole(1701)));
    let new = program(controls(), narrow(roll(), later), scale(250));
    assert!(matches!(same_pulses(&old, &new)[..], [(1, Same::Yes), (2, Same::No(_))]));
}

/// Rates in other words, and curved ones: the same is proved though nothing about them is straight.
#[test]
fn curved_sticks_are_held_against_each_other() {
    let left = |at| Some(Condition::at(ControlId(1), at));
    let rate = |rate: i64, expo: i64, when| Rate { rate: whole(rate), expo: whole(expo), when };
    let of = |rates: Vec<Rate>| {
        let controls = vec![stick(rates), Control::switch("left", &["up", "down"])];
        program(controls, vec![Channel::new(1, Value::Control(ControlId(0)))], Scale::default())
    };
    let old = of(vec![rate(70, 30, left(0)), rate(100, 20, None)]);
    let turned = of(vec![rate(100, 20, left(1)), rate(70, 30, None)]);
    assert_eq!(same_pulses(&old, &turned), [(1, Same::Yes)]);
    let other = of(vec![rate(100, 20, left(1)), rate(70, 31, None)]);
    assert!(matches!(same_pulses(&old, &other)[..], [(1, Same::No(_))]));
}
