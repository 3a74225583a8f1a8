//! `throttle/sides-differ`: two motors of one aircraft go against each other, or yaw does not part them as it should.

use super::running;
use crate::findings::fact::{channel_as, us, word};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Motor, Setup, Signals, WrongSides};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let motors = out.motors(setup);
    for (at, one) in motors.iter().enumerate() {
        for other in motors.iter().skip(at + 1).filter(|other| setup.are_sides(one, other)) {
            compare(setup, signals, (one, other), out);
        }
    }
}

fn compare(setup: &Setup<'_>, signals: &Signals, (one, other): (&Motor<'_>, &Motor<'_>), out: &mut Out<'_>) {
    let place = setup.in_model(other.channel.header);
    let Some(runs) = other.runs() else { return };
    let share = out.parameter("share", Dimension::Percent);
    let mut paths = running(out, signals, one, Some(&runs), place, centred);
    if paths.is_empty() && setup.craft.stays_down() {
        // What is driven with a stick that springs to its centre runs only off it.
        paths = running(out, signals, one, Some(&runs), place, |_, question| question);
    }
    let Some(sides) = paths.iter().find_map(|path| one.sides(other, setup, signals, path, share)) else { return };
    let (key, sentence) = match sides.wrong {
        WrongSides::Opposed => (
            "opposed",
            "While the {stick} goes up, the motor on channel {one} goes from {one_before} to {one_after}, and the one on channel {other} from {other_before} to {other_after}: one runs up and the other down.",
        ),
        WrongSides::NotParted => (
            "not parted",
            "The {stick} from left to right takes the motor on channel {one} from {one_before} to {one_after}, and the one on channel {other} from {other_before} to {other_after}: both the same way, so that nothing turns.",
        ),
        WrongSides::WrongWay => (
            "wrong way",
            "The {stick} from left to right takes the motor on channel {one} from {one_before} to {one_after}, and the one on channel {other} from {other_before} to {other_after}: the left one should gain, so that it turns to the right.",
        ),
        WrongSides::OnlyOne => (
            "only one",
            "The {stick} from left to right takes the motor on channel {one} from {one_before} to {one_after}, and the one on channel {other} from {other_before} to {other_after}: only one of them follows.",
        ),
        WrongSides::Unequal => (
            "unequal",
            "With the steering centred and the {stick} at one place, the motor on channel {one} gets {one_after}, and the one on channel {other} gets {other_after}: one pulls more than the other.",
        ),
    };
    let facts = [
        word("stick", called(setup.hands().grip, sides.stick)),
        channel_as("one", one.number()),
        channel_as("other", other.number()),
        us("one_before", &sides.before.0),
        us("one_after", &sides.after.0),
        us("other_before", &sides.before.1),
        us("other_after", &sides.after.1),
    ];
    let case = match (&sides.wrong, setup.craft.stays_down()) {
        (_, false) => "",
        (WrongSides::NotParted, true) => "straight",
        (WrongSides::WrongWay, true) => "other way",
        (_, true) => "circles",
    };
    out.find(place, key, sentence, facts)
        .case(case)
        .shown_by(signals.witness(&sides.path))
        .other(setup.in_model(one.channel.header), "the other motor");
}
