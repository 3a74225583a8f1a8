//! How long questions about a model take: by the size of what they hang on, about one movement, ranges, and compiling.
//!
//! `cargo bench --bench query`

use divan::{Bencher, black_box};
use walkaround::signal::*;

fn main() {
    divan::main();
}

const THROTTLE: ControlId = ControlId(0);
const ROLL: ControlId = ControlId(1);

/// The controls: two sticks, then switches of two and of three positions by turns.
fn controls(switches: u16) -> Vec<Control> {
    let mut controls = vec![Control::stick("throttle", Function::Throttle), Control::stick("roll", Function::Roll)];
    if let ControlKind::Stick { rates, .. } = &mut controls[1].kind {
        let when = Some(Condition::at(switch(0), 0));
        rates.push(Rate { rate: whole(70), expo: whole(30), when });
        rates.push(Rate { rate: whole(100), expo: whole(20), when: None });
    }
    for index in 0..switches {
        let positions: &[&str] = if index.is_multiple_of(2) { &["up", "down"] } else { &["up", "middle", "down"] };
        controls.push(Control::switch(&format!("switch-{index}"), positions));
    }
    controls
}

const fn switch(index: u16) -> ControlId {
    ControlId(2 + index)
}

fn idle() -> Condition {
    Condition::Axis(THROTTLE, Bounds::below(whole(-95)))
}

/// A channel that arms: on when every latch is on and every switch is down.
fn arming(switches: u16, latches: u16) -> Program {
    let last = |index: u16| if index.is_multiple_of(2) { 1 } else { 2 };
    let mut conditions = Vec::new();
    for index in 0..latches {
        let set = Condition::becomes(switch(index % switches), last(index % switches)).and(idle());
        let reset = Condition::at(switch(index % switches), 0);
        conditions.push(Named { name: format!("latch-{index}").into(), kind: NamedKind::Latch { set, reset } });
    }
    let mut all: Vec<Condition> = (0..latches).map(|index| Condition::Named(ConditionId(index))).collect();
    all.extend((0..switches).map(|index| Condition::at(switch(index), last(index))));
    let lines = vec![Line::when(Value::percent(100), Condition::All(all)), Line::always(Value::percent(-100))];
    let parts = Parts {
        controls: controls(switches),
        conditions,
        channels: vec![Channel::of(7, lines).levels(2)],
        modes: vec![Mode { name: "arm".into(), any_of: vec![vec![(7, whole(1660), whole(2140))]], unknown: None }],
        ..Parts::default()
    };
    Program::new(parts).unwrap_or_else(|flaw| unreachable!("{flaw}"))
}

/// Sixteen channels, eight switches, sixteen conditions (four of them latches), a curve.
fn sixteen() -> Parts {
    let conditions = (0..16).map(|index: u16| {
        let here = Condition::at(switch(index % 8), (index % 2) as u8);
        let there = Condition::at(switch((index + 3) % 8), 0);
        let kind = match index {
            0..4 => NamedKind::Latch {
                set: Condition::becomes(switch(index), 1).and(idle()),
                reset: Condition::at(switch(index), 0),
            },
            4..10 => NamedKind::Plain(here.or(there)),
            _ => NamedKind::Plain(Condition::Named(ConditionId(index - 6)).and(here)),
        };
        Named { name: format!("condition-{index}").into(), kind }
    });
    let curve = Curve {
        name: "soft".into(),
        points: [(-100, -100), (-40, -60), (0, 0), (50, 30), (100, 90)].map(|(x, y)| (whole(x), whole(y))).to_vec(),
        rounded: true,
    };
    let channels = (1..=16).map(|number: u16| {
        let named = |index: u16| Condition::Named(ConditionId(index % 16));
        let stick = Value::Control(if number.is_multiple_of(2) { ROLL } else { THROTTLE });
        let lines = vec![
            Line::when(stick.clone().through(CurveId(0)), named(number)),
            Line::when(stick.times(Value::percent(60)).plus(Value::percent(i64::from(number))), named(number + 5)),
            Line::when(Value::Control(switch(number % 8)), named(number + 9).not()),
            Line::always(Value::percent(-100)),
        ];
        let channel = Channel::of(number, lines);
        if number > 8 { channel.levels(7) } else { channel }
    });
    Parts {
        controls: controls(8),
        curves: vec![curve],
        conditions: conditions.collect(),
        channels: channels.collect(),
        ..Parts::default()
    }
}

fn program(parts: Parts) -> Program {
    Program::new(parts).unwrap_or_else(|flaw| unreachable!("{flaw}"))
}

fn armed() -> Condition {
    Condition::mode(ModeId(0))
}

/// Is the mode reachable? A yes, with its path.
#[divan::bench(args = [(2, 0), (5, 0), (8, 0), (11, 0), (14, 0), (2, 1), (2, 2), (5, 2), (8, 4), (8, 8), (14, 8)])]
fn reached(bencher: Bencher<'_, '_>, (switches, latches): (u16, u16)) {
    let program = arming(switches, latches);
    let question = Question::is(armed());
    bencher.bench_local(|| program.ask(black_box(&question)));
}

/// Is the mode on with the first switch up, or the throttle high on the way? A proof that it is not.
#[divan::bench(args = [(2, 0), (5, 0), (8, 0), (11, 0), (14, 0), (2, 1), (2, 2), (5, 2), (8, 4), (8, 8), (14, 8)])]
fn proved(bencher: Bencher<'_, '_>, (switches, latches): (u16, u16)) {
    let program = arming(switches, latches);
    let other = Condition::Any((0..switches).map(|index| Condition::at(switch(index), 0)).collect());
    let question = Question::is(armed().and(other));
    bencher.bench_local(|| program.ask(black_box(&question)));
}

/// Does one movement of any switch ask to arm from a state that does not?
#[divan::bench(args = [(2, 0), (5, 0), (8, 0), (14, 0), (2, 1), (5, 2), (8, 4), (14, 8)])]
fn one_movement(bencher: Bencher<'_, '_>, (switches, latches): (u16, u16)) {
    let program = arming(switches, latches);
    let question = Question::is(armed().not()).then(Movers::SwitchesAndButtons, armed());
    bencher.bench_local(|| program.ask(black_box(&question)));
}

/// The same, where nothing can: the switches have to be down for it, and one is up.
#[divan::bench(args = [(2, 0), (5, 0), (8, 0), (14, 0), (2, 1), (5, 2), (8, 4), (14, 8)])]
fn one_movement_proved(bencher: Bencher<'_, '_>, (switches, latches): (u16, u16)) {
    let program = arming(switches, latches);
    let up = Condition::at(switch(0), 0);
    let question = Question::is(up.clone()).then(Movers::SwitchesAndButtons, armed().and(up));
    bencher.bench_local(|| program.ask(black_box(&question)));
}

/// What each of sixteen channels reaches: asked again, and asked of a model just compiled.
#[divan::bench]
fn ranges_of_sixteen_channels(bencher: Bencher<'_, '_>) {
    let program = program(sixteen());
    bencher.bench_local(|| ranges(&program));
}

#[divan::bench]
fn ranges_of_sixteen_channels_at_first(bencher: Bencher<'_, '_>) {
    bencher.with_inputs(|| program(sixteen())).bench_local_refs(|program| ranges(program));
}

fn ranges(program: &Program) -> usize {
    let all = Within::default();
    let found = (1..=16).filter_map(|channel| program.range(channel, Measure::Received, &all));
    found.filter(|reach| matches!(reach, Reach::Range(_))).count()
}

/// A question about a stick through rates, expo and a rounded curve.
#[divan::bench]
fn curved(bencher: Bencher<'_, '_>) {
    let program = program(sixteen());
    let question = Question::received(2, Bounds::at_least(whole(1870)));
    bencher.bench_local(|| program.ask(black_box(&question)));
}

/// One state, played.
#[divan::bench]
fn played(bencher: Bencher<'_, '_>) {
    let program = program(sixteen());
    let path = Path::at(program.rest()).then(switch(1), Setting::Position(1));
    bencher.bench_local(|| program.play(black_box(&path)));
}

/// Checking the parts and preparing them, without the questions' own compiling.
#[divan::bench]
fn checked(bencher: Bencher<'_, '_>) {
    bencher.with_inputs(sixteen).bench_local_values(program);
}

/// The first question to a model.
#[divan::bench]
fn asked_at_first(bencher: Bencher<'_, '_>) {
    let question = Question::received(2, Bounds::at_least(whole(1870)));
    bencher.with_inputs(|| program(sixteen())).bench_local_refs(|program| program.ask(&question));
}
