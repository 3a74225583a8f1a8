//! `channels/mixed`: a flight function of a multirotor hangs on more than one stick.

use crate::findings::fact::{FactValue, Joined, channel, list, text};
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for flight in setup.flights().iter().filter(|flight| flight.sticks.len() > 1) {
        let sticks = flight.sticks.iter().map(|stick| FactValue::Text(stick.word().into()));
        let facts =
            [channel(flight.channel), text("function", flight.function.word()), list("sticks", Joined::And, sticks)];
        let sentence = "Channel {channel}, where the controller reads {function}, is mixed from the sticks {sticks}: the flight controller mixes by itself.";
        let finding = out.find(setup.channel_place(flight.channel), "mixed", sentence, facts);
        // A stick that is mixed in moves two functions: the other is its own.
        let own = setup.flights().iter().filter(|own| own.channel != flight.channel);
        for own in own.filter(|own| flight.sticks.contains(&own.function) && own.sticks.contains(&own.function)) {
            finding.other(setup.channel_place(own.channel), "one of these sticks moves this function too");
        }
    }
}
