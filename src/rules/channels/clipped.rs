//! `channels/clipped`: the last part of a stick's way changes nothing.

use crate::findings::Edit;
use crate::findings::fact::{channel, percent, text, us};
use crate::fleet::Dimension;
use crate::fleet::model::Channel;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, remove, replace};
use crate::setup::rates::rate_beyond_full;
use crate::setup::stick_way::FlatEnd;
use crate::setup::terms::beyond_full;
use crate::setup::{Setup, Signals, is_straight};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    for (number, ..) in setup.used() {
        let Some(known) = out.channel(setup, number).filter(|known| !is_straight(setup.model, known)) else {
            continue;
        };
        let flight = setup.flights().iter().find(|flight| flight.channel == number);
        let Some(flat) = FlatEnd::of(setup, signals, number, flight, share) else { continue };
        let facts =
            [text("stick", flat.stick.word()), channel(number), us("reaches", &flat.pulse), percent("before", share)];
        let sentence = "The {stick} stick moves channel {channel} to {reaches} already {before} before its end; the rest of its way changes nothing.";
        let finding = out.find(setup.in_model(known.header), "flat end", sentence, facts);
        finding.shown_by(signals.witness(&flat.path));
        if let Some((label, edit)) = mend(setup, known, flat.stick) {
            finding.mend_sure(label, vec![edit]);
        }
    }
}

fn mend(setup: &Setup<'_>, channel: &Channel, stick: Stick) -> Option<(String, Edit)> {
    let head = &setup.model.head;
    if let Some((value, percent)) = beyond_full(channel) {
        let end = if percent.mantissa() < 0 { "-100 %" } else { "100 %" };
        return Some((format!("multiply by {end}"), replace(head, value.span, end)));
    }
    if let Some(line) = rate_beyond_full(setup.model, stick) {
        return Some(("let the rate be 100 %".to_owned(), replace(head, line.rate.span, "100 %")));
    }
    channel.subtrim.map(|subtrim| ("take the subtrim out".to_owned(), remove(head, subtrim.span)))
}
