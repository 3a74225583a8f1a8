//! One state and one path, against values from outside.

use crate::signal::*;

fn percent(text: &str) -> Rational64 {
    let (mantissa, scale) = match text.split_once('.') {
        Some((a, b)) => (format!("{a}{b}").parse().unwrap(), u32::try_from(b.len()).unwrap()),
        None => (text.parse().unwrap(), 0),
    };
    Rational64::decimal(mantissa, scale).unwrap()
}

const ROLL: ControlId = ControlId(0);
const FIVE: ControlId = ControlId(1);
const THREE: ControlId = ControlId(2);

fn controls() -> Vec<Control> {
    vec![
        Control::stick("roll", Function::Roll),
        Control::switch("rotary", &["1", "2", "3", "4", "5"]),
        Control::switch("left-rear", &["up", "middle", "down"]),
    ]
}

fn program(channels: Vec<Channel>) -> Program {
    Program::new(Parts { controls: controls(), channels, ..Parts::default() }).unwrap()
}

fn received(program: &Program, sets: &[(ControlId, Setting)], channel: u16) -> Exact {
    let mut stand = program.rest();
    for &(id, to) in sets {
        stand.set(Handle::Control(id), to);
    }
    program.play(&Path::at(stand)).channel(channel).unwrap().received.clone().unwrap()
}

/// DESIGN 10, point 1.
#[test]
fn ties_go_to_the_lower_level() {
    let p = program(vec![
        Channel::new(5, Value::Control(FIVE)).levels(7),
        Channel::new(6, Value::Control(THREE)).levels(2),
    ]);
    // −50 % lies half-way between the levels −66 2/3 % and −33 1/3 %.
    let low = exact(Rational64::new(3500, 3).unwrap());
    assert_eq!(received(&p, &[(FIVE, Setting::Position(1))], 5), low);
    assert_eq!(received(&p, &[(THREE, Setting::Position(1))], 6), exact(whole(1000)));
    assert_eq!(received(&p, &[(THREE, Setting::Position(2))], 6), exact(whole(2000)));
}

/// Quantisation: n bits over 1000 us, step 1000 / (2^n − 1) us, error at most half a step (the textbook figures:
/// 8 bits 3.92157, 10 bits 0.977517, 11 bits 0.488520, 12 bits 0.244200 us).
#[test]
fn levels_are_as_far_apart_as_the_textbook_says() {
    for (bits, step) in [(8, 3.92157), (10, 0.977_517), (11, 0.488_520), (12, 0.244_200)] {
        let p = program(vec![Channel::new(1, Value::Unshaped(ROLL)).levels(1 << bits)]);
        for at in ["-100", "-33.3", "0", "0.1", "99.9", "100"] {
            let sent = 1500.0 + 5.0 * percent(at).near();
            let got = approximate(&received(&p, &[(ROLL, Setting::Percent(percent(at)))], 1));
            assert!((got - sent).abs() <= step / 2.0 + 1e-5, "{bits} bits, {at} %: {got}");
            let steps = (got - 1000.0) / step;
            assert!((steps - steps.round()).abs() < 1e-2, "{bits} bits, {at} %: {got}");
        }
    }
}

/// Expo k·x³ + (1−k)·x: the arithmetic of the formula (its name and sign: common practice, no source).
#[test]
fn expo_gives_the_formula_s_values() {
    let table = [
        ("30", "25", 0.179_687_5),
        ("30", "50", 0.3875),
        ("30", "75", 0.651_562_5),
        ("50", "50", 0.3125),
        ("100", "50", 0.125),
    ];
    for (k, x, y) in table {
        let mut controls = controls();
        controls[0].kind = ControlKind::Stick {
            function: Function::Roll,
            trim: None,
            rates: vec![Rate { rate: whole(100), expo: percent(k), when: None }],
            sprung: true,
        };
        let parts = Parts { controls, channels: vec![Channel::new(1, Value::Control(ROLL))], ..Parts::default() };
        let p = Program::new(parts).unwrap();
        let got = approximate(&received(&p, &[(ROLL, Setting::Percent(percent(x)))], 1));
        assert!((got - (1500.0 + 500.0 * y)).abs() < 1e-9, "k {k}, x {x}: {got}");
    }
}

/// gpiozero 2.0.1 `Servo` with its defaults: −1, −0.5, 0, 0.5, 1 give 1000, 1250, 1500, 1750, 2000 us.
#[test]
fn five_positions_give_a_servo_library_s_pulses() {
    let p = program(vec![Channel::new(1, Value::Control(FIVE))]);
    for (at, pulse) in (0..).zip([1000, 1250, 1500, 1750, 2000]) {
        assert_eq!(received(&p, &[(FIVE, Setting::Position(at))], 1), exact(whole(pulse)));
    }
}

#[test]
fn output_turns_shifts_clamps_and_scales_in_this_order() {
    let channel = Channel {
        reversed: true,
        subtrim: whole(10),
        travel: (whole(-80), whole(120)),
        centre: Some(whole(1510)),
        ..Channel::new(1, Value::Unshaped(ROLL))
    };
    let p = program(vec![channel]);
    let at = |x| approximate(&received(&p, &[(ROLL, Setting::Percent(whole(x)))], 1));
    assert_eq!([at(100), at(0), at(-100)], [1510.0 - 400.0, 1560.0, 1510.0 + 550.0]);
}

/// DESIGN 10, point 4: a set condition held and reset pulsed.
#[test]
fn a_latch_comes_on_again_for_a_level_and_stays_off_for_becomes() {
    let (set, reset) = (ControlId(0), ControlId(1));
    for (edge, again) in [(false, true), (true, false)] {
        let on = if edge { Condition::becomes(set, 1) } else { Condition::at(set, 1) };
        let latch = NamedKind::Latch { set: on, reset: Condition::at(reset, 1) };
        let parts = Parts {
            controls: vec![Control::switch("left-front", &["up", "down"]), Control::button("trigger")],
            conditions: vec![Named { name: "ready".into(), kind: latch }],
            ..Parts::default()
        };
        let p = Program::new(parts).unwrap();
        let path = Path::at(p.rest())
            .then(set, Setting::Position(1))
            .then(reset, Setting::Position(1))
            .then(reset, Setting::Position(0));
        let on: Vec<bool> = p.play_all(&path).iter().map(|r| r.conditions[0].unwrap()).collect();
        assert_eq!(on, [false, true, false, again], "edge: {edge}");
        // Already there at the start: a level sets it, `becomes` does not.
        let mut down = p.rest();
        down.set(Handle::Control(set), Setting::Position(1));
        assert_eq!(p.play(&Path::at(down)).conditions[0], Some(!edge));
    }
}

#[test]
fn loops_are_found() {
    let loops = vec![Channel::new(1, Value::Channel(2)), Channel::new(2, Value::Channel(1))];
    let flaw = Program::new(Parts { channels: loops, ..Parts::default() }).unwrap_err();
    assert_eq!(flaw.reason, Reason::Cycle(vec![Fed::Channel(1), Fed::Channel(2)]));
}

#[test]
fn a_product_that_grows_without_bound_is_refused() {
    let mut channels = vec![Channel::new(1, Value::Unshaped(ROLL))];
    channels.extend((2..40).map(|n| Channel::new(n, Value::Channel(n - 1).times(Value::Channel(n - 1)))));
    let flaw = Program::new(Parts { controls: controls(), channels, ..Parts::default() }).unwrap_err();
    assert!(matches!(flaw.reason, Reason::TooManyFactors));
}
