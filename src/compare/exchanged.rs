//! Two channels that have changed places: each does now exactly what the other did, in every state that can occur.

use super::join::Timed;
use super::pair::{Pair, Verdict, Watch};
use super::side::Side;
use crate::signal::{Channel, Parts, Path, Program};

/// Whether that is proved of two channels. What is not decided is not told of them.
pub(super) fn have_changed_places(old: Timed<'_>, new: Timed<'_>, channels: [u16; 2]) -> bool {
    if !may_have(old.program, new.program, channels) {
        return false;
    }
    let Some(turned) = with_exchanged(old, channels) else { return false };
    let pair = Pair::new(Timed { program: &turned, ..old }, new);
    let is_same = |number: u16| {
        pair.joined.same_channels.contains(&number) || matches!(pair.verdict(&Watch::Pulse(number)), Verdict::Same)
    };
    channels.into_iter().all(is_same)
}

/// Whether both are carried alike on both sides, and receive at rest what the other one received: what can be seen without asking.
fn may_have(old: &Program, new: &Program, [one, other]: [u16; 2]) -> bool {
    let carriage = |program: &Program, number: u16| program.channel(number).map(|channel| channel.carriage);
    let first = carriage(old, one);
    let all = [carriage(old, other), carriage(new, one), carriage(new, other)];
    let rest = |program: &Program| program.play(&Path::at(program.rest()));
    let (was, is) = (rest(old), rest(new));
    let sent = |before: u16, now: u16| was.channel(before).map(|it| &it.sent) == is.channel(now).map(|it| &it.sent);
    first.is_some() && all.into_iter().all(|known| known == first) && sent(one, other) && sent(other, one)
}

/// A program in which two channels have each other's numbers, wherever they are named.
fn with_exchanged(program: Timed<'_>, channels: [u16; 2]) -> Option<Program> {
    let parts = program.program.parts();
    let mut side = Side::identity(parts, program.held_for);
    side.exchange(channels);
    let own =
        |channel: &Channel| Some(Channel { number: side.channel(channel.number)?, ..side.whole_channel(channel)? });
    let exchanged = Parts {
        controls: parts.controls.iter().map(|control| side.whole_control(control)).collect::<Option<_>>()?,
        conditions: parts.conditions.iter().map(|named| side.named(named)).collect::<Option<_>>()?,
        channels: parts.channels.iter().map(own).collect::<Option<_>>()?,
        modes: parts.modes.iter().map(|mode| side.mode(mode)).collect::<Option<_>>()?,
        ..parts.clone()
    };
    Program::new(exchanged).ok()
}
