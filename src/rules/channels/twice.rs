//! `channels/twice`: one stick of a multirotor moves two functions.

use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    if !setup.is(CraftKind::Multirotor) {
        return;
    }
    for &stick in Stick::ALL {
        let moved = setup.flights().iter().filter(|flight| flight.sticks.contains(&stick));
        if moved.clone().count() < 2 {
            continue;
        }
        let moved: Vec<(Stick, u8)> = moved.map(|flight| (flight.function, flight.channel)).collect();
        // The one that is not the stick's own is the one to look at.
        let Some(&(_, channel)) = moved.iter().find(|(function, _)| *function != stick).or(moved.last()) else {
            continue;
        };
        let words: Vec<String> =
            moved.iter().map(|(function, channel)| format!("{} (channel {channel})", function.word())).collect();
        let finding = out.find_text(
            setup.channel_place(channel),
            format!("The {} stick moves {}.", stick.word(), words.join(" and ")),
        );
        for &(_, other) in moved.iter().filter(|&&(_, other)| other != channel) {
            finding.other(setup.channel_place(other), "moved by the same stick");
        }
    }
}
