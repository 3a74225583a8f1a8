//! `channels/elevons-alike`: two surfaces that share two functions and do only one of them.

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
        let sentence = if alike.unmoved {
            "Channels {first_channel} and {second_channel} are to do {first_function} and {second_function}, and the stick of {lost} moves neither of them: they do {kept}, and no {lost}."
        } else {
            "Channels {first_channel} and {second_channel} answer {first_function} and {second_function} in the same way: they do {kept}, and no {lost}."
        };
        out.find(setup.channel_place(first.channel.value), "alike", sentence, facts)
            .other(setup.channel_place(second.channel.value), "the other surface")
            .other(setup.in_craft(first.span), "what the surfaces are to do");
    }
}
