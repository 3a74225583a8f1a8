//! `channels/elevons-alike`: two surfaces with the same mix, so that there is no roll or no pitch.

use crate::findings::fact::{channel_as, text};
use crate::rules::out::Out;
use crate::setup::surfaces::alike_surfaces;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for alike in alike_surfaces(setup, signals) {
        let ([first, second], [one, other]) = (alike.surfaces, alike.functions);
        let facts = [
            channel_as("first_channel", first.channel.value),
            channel_as("second_channel", second.channel.value),
            text("first_function", one.word()),
            text("second_function", other.word()),
            text("kept", alike.kept.word()),
            text("lost", alike.lost.word()),
        ];
        let sentence = "Channels {first_channel} and {second_channel} answer {first_function} and {second_function} in the same way: the aircraft has {kept}, and no {lost}.";
        out.find(setup.channel_place(first.channel.value), "alike", sentence, facts)
            .other(setup.channel_place(second.channel.value), "the other surface")
            .other(setup.in_craft(first.span), "what the surfaces are to do");
    }
}
