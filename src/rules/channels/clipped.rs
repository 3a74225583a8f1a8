//! `channels/clipped`: the last part of a stick's way changes nothing.

use crate::findings::Edit;
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, channels, percent, text, us};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::fleet::model::Channel;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, remove, replace};
use crate::setup::rates::rate_beyond_full;
use crate::setup::stick_way::{FlatEnd, is_chosen};
use crate::setup::surfaces::mixes::cramped;
use crate::setup::terms::beyond_full;
use crate::setup::{Setup, Signals, is_straight};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    let mut flat_ones = Vec::new();
    for (number, ..) in setup.used() {
        let Some(known) = out.channel(setup, number).filter(|known| !is_straight(setup.model, known)) else {
            continue;
        };
        let flight = setup.flights().iter().find(|flight| flight.channel == number);
        let flat = FlatEnd::of(setup, signals, number, flight, share);
        let is_deep =
            || FlatEnd::of(setup, signals, number, flight, out.parameter("chosen", Dimension::Percent)).is_some();
        let told = |flat: &FlatEnd| !is_chosen(setup, known, flat.stick) || is_surface(setup, flat.stick) && is_deep();
        let Some(flat) = flat.filter(told) else { continue };
        flat_ones.push(number);
        let facts = [
            text("stick", called(setup.hands().grip, flat.stick)),
            channel(number),
            us("reaches", &flat.pulse),
            percent("before", share),
        ];
        let sentence = "The {stick} moves channel {channel} to {reaches} already {before} before its end; the rest of its way changes nothing.";
        let finding = out.find(setup.in_model(known.header), "flat end", sentence, facts);
        finding.shown_by(signals.witness(&flat.path));
        match (mend(setup, known, flat.stick), known.subtrim) {
            (Some((label, edit)), _) => {
                finding.mend_offer(label, vec![edit]);
            }
            // It may be there on purpose.
            (None, Some(subtrim)) => {
                let edit = remove(&setup.model.head, subtrim.span);
                let words = "Take the subtrim out, and centre the part itself.";
                finding.mend_choices(words, vec![choice("take the subtrim out", vec![edit])]);
            }
            (None, None) => {}
        }
    }
    cramped_pairs(setup, signals, &flat_ones, out);
}

/// Whether the stick moves a surface: of a throttle and a brake the end is chosen.
fn is_surface(setup: &Setup<'_>, stick: Stick) -> bool {
    setup.craft.controller.is_none() && stick != Stick::Throttle
}

/// Two sticks of one pair of surfaces, of which one leaves the other too little; not where one alone already ends before its end, on
/// the channels that are `told`.
fn cramped_pairs(setup: &Setup<'_>, signals: &Signals, told: &[u8], out: &mut Out<'_>) {
    let Some(surfaces) = setup.craft.surfaces.as_ref().filter(|_| setup.craft.controller.is_none()) else { return };
    let (grip, left) = (setup.hands().grip, out.parameter("left", Dimension::Percent));
    for found in cramped(surfaces, signals, signals.answers(surfaces), left.to_f64()) {
        let numbers = found.pair.channels();
        if numbers.iter().any(|number| told.contains(number)) {
            continue;
        }
        let [Some(known), Some(_)] = numbers.map(|number| out.channel(setup, number)) else { continue };
        let facts = [
            text("stick", called(grip, found.lost)),
            text("other", called(grip, found.other)),
            channels("channels", numbers),
            percent("part", Computed(found.percent, 0)),
            percent("limit", left),
        ];
        let sentence = "With the {other} at its end the {stick} keeps {part} of what it does to channels {channels}: both together are more than the channels can give (less than {limit} counts).";
        out.find(setup.in_model(known.header), "cramped", sentence, facts)
            .shown_by(signals.witness(&found.path))
            .other(setup.channel_place(numbers[1]), "the other side")
            .mend_words("Give both sticks smaller shares, which come to no more than a hundred percent together.");
    }
}

/// What ends the way by more than full is taken back to full.
fn mend(setup: &Setup<'_>, channel: &Channel, stick: Stick) -> Option<(String, Edit)> {
    let head = &setup.model.head;
    if let Some((value, percent)) = beyond_full(channel) {
        let end = if percent.mantissa() < 0 { "-100 %" } else { "100 %" };
        return Some((format!("multiply by {end}"), replace(head, value.span, end)));
    }
    let line = rate_beyond_full(setup.model, stick)?;
    Some(("let the rate be 100 %".to_owned(), replace(head, line.rate.span, "100 %")))
}
