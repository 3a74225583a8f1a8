//! `channels/mixed`: a flight function of a multirotor hangs on more than one stick.

use super::sticks;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    if !pair.is(CraftKind::Multirotor) {
        return;
    }
    for (function, channel) in pair.functions() {
        let moved = sticks(pair.model, channel);
        if moved.len() > 1 {
            let words: Vec<&str> = moved.into_iter().map(Stick::word).collect();
            let message = format!(
                "Channel {channel}, where the controller reads {}, is mixed from the sticks {}: the flight controller mixes by itself.",
                function.word(),
                words.join(" and ")
            );
            out.find(pair.channel_place(channel), message);
        }
    }
}
