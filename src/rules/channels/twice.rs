//! `channels/twice`: one stick of a multirotor moves two functions.

use super::NAMES;
use crate::findings::fact::{channel_as, text};
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::{Flight, Setup};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for &stick in Stick::ALL {
        let moved = setup.flights().iter().filter(|flight| flight.sticks.contains(&stick));
        let moved: Vec<&Flight<'_>> = moved.collect();
        // The one that is not the stick's own is the one to look at.
        let odd = moved.iter().find(|flight| flight.function != stick).filter(|_| moved.len() > 1);
        let Some(odd) = odd else { continue };
        let (mut facts, mut functions) = (vec![text("stick", stick.word())], Vec::new());
        for (flight, names) in moved.iter().zip(NAMES) {
            functions.push(format!("{{{}}} (channel {{{}}})", names.function, names.channel));
            facts.push(text(names.function, flight.function.word()));
            facts.push(channel_as(names.channel, flight.channel));
        }
        let sentence = format!("The {{stick}} stick moves {}.", functions.join(" and "));
        let finding = out.find(setup.channel_place(odd.channel), "several", &sentence, facts);
        for other in moved.iter().filter(|flight| flight.channel != odd.channel) {
            finding.other(setup.channel_place(other.channel), "moved by the same stick");
        }
    }
}
