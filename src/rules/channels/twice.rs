//! `channels/twice`: one stick of a multirotor moves two functions.

use super::sticks;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    if !pair.is(CraftKind::Multirotor) {
        return;
    }
    let functions = pair.functions();
    for &stick in Stick::ALL {
        let moved: Vec<(Stick, u8)> =
            functions.iter().copied().filter(|&(_, channel)| sticks(pair.model, channel).contains(&stick)).collect();
        if moved.len() < 2 {
            continue;
        }
        // The one that is not the stick's own is the one to look at.
        let Some(&(_, channel)) = moved.iter().find(|(function, _)| *function != stick).or(moved.last()) else {
            continue;
        };
        let words: Vec<String> =
            moved.iter().map(|(function, channel)| format!("{} (channel {channel})", function.word())).collect();
        let finding =
            out.find(pair.channel_place(channel), format!("The {} stick moves {}.", stick.word(), words.join(" and ")));
        for &(_, other) in moved.iter().filter(|&&(_, other)| other != channel) {
            finding.other(pair.channel_place(other), "moved by the same stick");
        }
    }
}
