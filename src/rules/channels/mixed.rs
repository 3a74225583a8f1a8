//! `channels/mixed`: a flight function of a multirotor hangs on more than one stick.

use crate::fleet::words::CraftKind;
use crate::rules::out::Out;
use crate::setup::{Flight, Setup};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    if !setup.is(CraftKind::Multirotor) {
        return;
    }
    for &Flight { function, channel, sticks, .. } in setup.flights() {
        if sticks.len() > 1 {
            let words: Vec<&str> = sticks.iter().map(|stick| stick.word()).collect();
            let message = format!(
                "Channel {channel}, where the controller reads {}, is mixed from the sticks {}: the flight controller mixes by itself.",
                function.word(),
                words.join(" and ")
            );
            out.find_text(setup.channel_place(channel), message);
        }
    }
}
