//! `channels/clipped`: the last part of a stick's way changes nothing.

use super::{stick_arrives, with_stick};
use crate::fleet::condition::ValueKind;
use crate::fleet::words::Stick;
use crate::fleet::{Decimal, Dimension};
use crate::rules::out::{Out, remove, replace};
use crate::rules::wording::us;
use crate::setup::{Setup, float};
use crate::setup::{function, is_straight, sticks};
use crate::signal::Path;
use std::cell::OnceCell;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    // A stick's whole way is 200 %: the last share of the half on one side.
    let last = 100 - share.to_whole().unwrap_or(5);
    for (channel, _, _) in setup.used() {
        let Some(known) = setup.model.channel(channel).filter(|known| !is_straight(setup.model, known)) else {
            continue;
        };
        let flight = setup.flights().iter().find(|flight| flight.channel == channel);
        let sticks = flight.map_or_else(|| sticks(setup.model, channel), |flight| flight.sticks);
        for &stick in sticks.iter() {
            let Some(signals) = setup.signals() else { return };
            let Some(control) = signals.stick(function(stick)) else { continue };
            let at = |percent| stick_arrives(signals, control, percent, channel);
            // Of its own stick the ends are known.
            let seen =
                flight.filter(|flight| flight.function == stick).and_then(|flight| flight.seen(signals).ends.first());
            let (low, high) = match seen {
                Some(ends) => (Some(float(&ends.low)), Some(float(&ends.high))),
                None => (at(-100), at(100)),
            };
            let middle = OnceCell::new();
            let is_flat = |pulse: &f64, before| {
                at(before) == Some(*pulse) && middle.get_or_init(|| at(0)).is_some_and(|middle| middle != *pulse)
            };
            let mut ends = [(100, high, last), (-100, low, -last)].into_iter();
            let flat = ends.find_map(|(end, pulse, before)| Some((end, pulse.filter(|pulse| is_flat(pulse, before))?)));
            let Some((end, pulse)) = flat else { continue };
            let message = format!(
                "The {} stick moves channel {channel} to {} already {} % before its end; the rest of its way changes nothing.",
                stick.word(),
                us(pulse),
                share
            );
            let finding = out.find_text(setup.in_model(known.header), message);
            finding.shown_by(signals.witness(&Path::at(with_stick(signals, control, end))));
            if let Some((label, edit)) = mend(setup, known, stick) {
                finding.mend_sure(label, vec![edit]);
            }
            break;
        }
    }
}

fn mend(
    setup: &Setup<'_>,
    channel: &crate::fleet::model::Channel,
    stick: Stick,
) -> Option<(String, crate::findings::Edit)> {
    let head = &setup.model.head;
    let hundred = Decimal::whole(100);
    let mut found = None;
    for line in &channel.lines {
        line.value.walk(&mut |value| {
            if let ValueKind::Percent(percent) = value.kind
                && (percent > hundred || percent < Decimal::whole(-100))
            {
                let text = if percent.mantissa() < 0 { "-100 %" } else { "100 %" };
                found = found.take().or(Some((format!("multiply by {text}"), replace(head, value.span, text))));
            }
        });
    }
    let rates = setup.model.rates.iter().find(|rates| rates.stick.value == stick);
    let rate = rates.and_then(|rates| rates.lines.iter().find(|line| line.rate.value > hundred));
    found
        .or_else(|| rate.map(|line| ("let the rate be 100 %".to_owned(), replace(head, line.rate.span, "100 %"))))
        .or_else(|| channel.subtrim.map(|subtrim| ("take the subtrim out".to_owned(), remove(head, subtrim.span))))
}
