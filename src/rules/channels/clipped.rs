//! `channels/clipped`: the last part of a stick's way changes nothing.

use crate::findings::Edit;
use crate::findings::fact::{channel, percent, text, us};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::fleet::model::Channel;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, choice, remove, replace};
use crate::setup::rates::rate_beyond_full;
use crate::setup::stick_way::{FlatEnd, is_chosen};
use crate::setup::terms::beyond_full;
use crate::setup::{Setup, Signals, is_straight};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    for (number, ..) in setup.used() {
        let Some(known) = out.channel(setup, number).filter(|known| !is_straight(setup.model, known)) else {
            continue;
        };
        let flight = setup.flights().iter().find(|flight| flight.channel == number);
        let flat = FlatEnd::of(setup, signals, number, flight, share);
        let Some(flat) = flat.filter(|flat| !is_chosen(setup, known, flat.stick)) else { continue };
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
