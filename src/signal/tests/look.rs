//! What looks say, against the query and against whole evaluations.

use super::random::{parts, percents};
use crate::signal::*;
use proptest::prelude::*;

/// Where each control of a random program may stand.
fn stand() -> impl Strategy<Value = Vec<(Handle, Setting)>> {
    let sets = (0_u8..2, 0_u8..3, 0_u8..2, percents(), percents(), percents());
    sets.prop_map(|(a, b, c, roll, throttle, trim)| {
        vec![
            (Handle::Control(ControlId(0)), Setting::Position(a)),
            (Handle::Control(ControlId(1)), Setting::Position(b)),
            (Handle::Control(ControlId(2)), Setting::Position(c)),
            (Handle::Control(ControlId(3)), Setting::Percent(roll)),
            (Handle::Control(ControlId(4)), Setting::Percent(throttle)),
            (Handle::Trim(ControlId(3)), Setting::Percent(trim)),
        ]
    })
}

/// A path to where these say, in one go or one control at a time.
fn path(program: &Program, sets: &[(Handle, Setting)], at_once: bool) -> Path {
    let mut path = Path::at(program.rest());
    if at_once {
        sets.iter().for_each(|&(handle, to)| path.start.set(handle, to));
    } else {
        path.movements = sets.iter().map(|&set| Movement { sets: vec![set], held: 0 }).collect();
    }
    path
}

/// The random parts, with a trim, and with two rates of which a switch chooses.
fn trimmed(mut parts: Parts, rates: &[(Rational64, Rational64)]) -> Parts {
    if let ControlKind::Stick { trim, rates: lines, .. } = &mut parts.controls[3].kind {
        *trim = Some(whole(25));
        let mut when = Some(Condition::at(ControlId(1), 1));
        lines.extend(rates.iter().map(|&(rate, expo)| Rate { rate, expo, when: when.take() }));
    }
    parts
}

/// A channel of one line whose value is built of a stick with a centre, so that looks find it.
fn centred() -> impl Strategy<Value = Channel> {
    let roll = || Value::Control(ControlId(3));
    let value = (0..6, percents()).prop_map(move |(kind, number)| match kind {
        0 => roll(),
        1 => Value::Negate(Box::new(roll())),
        2 => roll().times(Value::Percent(number)),
        3 => roll().plus(Value::Percent(number)),
        4 => roll().through(CurveId(0)),
        _ => Value::Max(Box::new(Value::Unshaped(ControlId(3))), Box::new(Value::Percent(number))),
    });
    let travel = prop::sample::select(vec![(-100_i64, 100_i64), (-40, 115), (5, 60)]);
    let output = (any::<bool>(), -12_i64..12, travel, prop::option::of(1480_i64..1512), 0_usize..4);
    (value, output).prop_map(|(value, (reversed, subtrim, travel, centre, levels))| Channel {
        reversed,
        subtrim: whole(subtrim),
        travel: (whole(travel.0), whole(travel.1)),
        centre: centre.map(whole),
        carriage: [Carriage::Unchanged, Carriage::Levels(2), Carriage::Levels(7), Carriage::Levels(256)][levels],
        ..Channel::new(1, value)
    })
}

fn at_centre(question: Question) -> Question {
    let at = Kept::At(Setting::Percent(whole(0)));
    let id = ControlId(3);
    question.keeping(Handle::Control(id), at).keeping(Handle::Trim(id), at)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// A channel that remembers nothing reads the same wherever the controls stand that it does not name.
    #[test]
    fn only_what_a_channel_names_makes_a_difference(parts in parts(), sets in stand(), to in percents(), at_once: bool) {
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let moved: Vec<_> = sets.into_iter().filter(|(handle, _)| matches!(handle, Handle::Control(_))).collect();
        for channel in 1..=3 {
            let Mentions { controls, latches, .. } = program.mentions(channel);
            let is_named = |(handle, _): &(Handle, Setting)| controls.iter().any(|&id| *handle == Handle::Control(id));
            let named: Vec<_> = moved.iter().copied().filter(is_named).collect();
            let read = |sets: &[(Handle, Setting)]| {
                let end = program.end_of(&path(&program, sets, at_once));
                end.read_moved(&[(Handle::Control(ControlId(3)), Setting::Percent(to))], channel)
            };
            if !latches {
                prop_assert_eq!(read(&moved), read(&named));
            }
        }
    }

    /// One channel read on its own is what the whole evaluation reads there.
    #[test]
    fn one_channel_reads_as_all_do(parts in parts(), sets in stand(), count in 0_usize..7, at_once: bool) {
        let Ok(program) = Program::new(trimmed(parts, &[(whole(80), whole(20))])) else { return Ok(()) };
        let sets = &sets[..count.min(sets.len())];
        let path = path(&program, sets, at_once);
        let all = program.play(&path);
        for channel in 1..4 {
            let one = program.read(&path, channel);
            prop_assert_eq!(one.as_ref(), all.channel(channel));
            if at_once {
                let one = program.read_with(sets, channel);
                prop_assert_eq!(one.as_ref(), all.channel(channel));
            } else if let Some((last, before)) = path.movements.split_last() {
                let end = program.end_of(&Path { movements: before.to_vec(), ..path.clone() });
                let one = end.read_moved(&last.sets, channel);
                prop_assert_eq!(one.as_ref(), all.channel(channel));
            }
        }
    }

    /// A movement of what a channel does not name is to it as one of nothing.
    #[test]
    fn what_is_not_named_is_as_good_as_still(parts in parts(), sets in stand(), count in 0_usize..7, channel in 1_u16..4) {
        let Ok(program) = Program::new(trimmed(parts, &[(whole(80), whole(20))])) else { return Ok(()) };
        let named = program.mentions(channel).controls;
        let end = program.end_of(&path(&program, &sets[..count.min(sets.len())], false));
        for &(handle, setting) in &sets {
            if let Handle::Control(control) = handle
                && !named.contains(&control)
            {
                prop_assert_eq!(end.read_moved(&[(handle, setting)], channel), end.read_moved(&[], channel));
            }
        }
    }

    /// What is named holds what moves.
    #[test]
    fn what_moves_a_channel_is_among_what_it_names(parts in parts(), channel in 1_u16..4) {
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let named = program.mentions(channel);
        let moving = program.moved_by(channel).unwrap();
        for control in (0..5).map(ControlId) {
            prop_assert!(named.controls.contains(&control) || !moving.contains(&control), "{control:?} on {channel}");
            prop_assert_eq!(program.moves(control, channel), Ok(moving.contains(&control)));
        }
    }

    /// What arrives is never said not to, also after movements.
    #[test]
    fn what_arrives_is_not_ruled_out(parts in parts(), sets in stand(), at_once: bool) {
        let mut parts = parts;
        // Without axes in the values, so that there is something to say of many channels.
        for line in parts.channels.iter_mut().flat_map(|channel| &mut channel.lines) {
            line.value = without_axes(&line.value);
        }
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let path = path(&program, &sets, at_once);
        for channel in 1..4 {
            let Some(pulse) = program.read(&path, channel).and_then(|seen| seen.received) else { continue };
            prop_assert!(!program.never_arrives(channel, &|other| *other == pulse), "{pulse:?} on channel {channel}");
        }
    }

    /// The pulse of centred sticks is the only one, as the query proves.
    #[test]
    fn a_centred_channel_has_one_pulse(
        parts in parts(), channel in centred(), rates in prop::collection::vec((percents(), 0_i64..100), 0..3),
    ) {
        let rates: Vec<_> = rates.into_iter().map(|(rate, expo)| (rate, whole(expo))).collect();
        let mut parts = trimmed(parts, &rates);
        parts.channels = vec![channel];
        parts.conditions.clear();
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let Some(pulse) = program.centred(1) else { panic!("such a channel is looked at") };
        let near = approximate(&pulse);
        let (under, over) = (whole(near.floor() as i64 - 1), whole(near.ceil() as i64 + 1));
        for bounds in [Bounds::below(under), Bounds::above(over)] {
            prop_assert!(program.ask(&at_centre(Question::received(1, bounds))).is_no(), "{bounds:?} beside {pulse:?}");
        }
        let found = program.ask(&at_centre(Question::received(1, Bounds::between(under, over))));
        prop_assert!(found.witness().is_some(), "{pulse:?} is not found");
    }

    /// What is read with everything at rest but for a stick and a switch lies in the range of all states in which the
    /// switch stands there.
    #[test]
    fn what_is_read_lies_in_its_range(parts in parts(), channel in 1_u16..4, at in 0_u8..3, up: bool) {
        let Ok(program) = Program::new(parts) else { return Ok(()) };
        let stick = Setting::Percent(whole(if up { 100 } else { -100 }));
        let switch = (Handle::Control(ControlId(1)), Setting::Position(at));
        let sets = [switch, (Handle::Control(ControlId(3)), stick)];
        let Some(pulse) = program.read_with(&sets, channel).and_then(|seen| seen.received) else { return Ok(()) };
        let within = Within { fixed: vec![(switch.0, Kept::At(switch.1))], ..Within::default() };
        match program.range(channel, Measure::Received, &within) {
            Some(Reach::Range(range)) => {
                let pulse = approximate(&pulse);
                prop_assert!(range.low - 0.5 < pulse && pulse < range.high + 0.5, "{pulse} in {range:?}");
            }
            Some(Reach::NotDecided(_)) => {}
            other => prop_assert!(false, "{other:?}"),
        }
    }
}

/// What can be said of a switch with a constant, a value line and the 0 % of no line.
#[test]
fn pulses_that_never_arrive_are_told() {
    let switch = ControlId(1);
    let half = Value::Control(switch).times(Value::percent(50));
    let line = Line::when(Value::percent(80), Condition::at(ControlId(0), 1));
    let channels = vec![Channel::new(1, half), Channel::of(2, vec![line])];
    let program = Program::new(Parts { controls: super::random::controls(), channels, ..Parts::default() }).unwrap();
    let never = |channel, pulse| program.never_arrives(channel, &|other| *other == exact(whole(pulse)));
    assert_eq!([1000, 1250, 1500, 1600, 1750].map(|pulse| never(1, pulse)), [true, false, false, true, false]);
    assert_eq!([1500, 1700, 1900, 2000].map(|pulse| never(2, pulse)), [false, true, false, true]);
    assert!(!never(3, 1234));
}

/// The same value with switches where axes stand.
fn without_axes(value: &Value) -> Value {
    let of = |value: &Value| Box::new(without_axes(value));
    match value {
        Value::Control(ControlId(id)) => Value::Control(ControlId(id % 3)),
        Value::Curve(curve, x) => Value::Curve(*curve, of(x)),
        Value::Negate(x) => Value::Negate(of(x)),
        Value::Min(a, b) => Value::Min(of(a), of(b)),
        Value::Max(a, b) => Value::Max(of(a), of(b)),
        Value::Add(a, b) => Value::Add(of(a), of(b)),
        Value::Subtract(a, b) => Value::Subtract(of(a), of(b)),
        Value::Multiply(a, b) => Value::Multiply(of(a), of(b)),
        other => other.clone(),
    }
}
