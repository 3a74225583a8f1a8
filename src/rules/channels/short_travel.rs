//! `channels/short-travel`: a full stick does not read as full.

use crate::findings::Severity;
use crate::findings::fact::{channel, fill, text, us};
use crate::findings::hands::called;
use crate::fleet::Decimal;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, replace};
use crate::setup::rates::greatest_rate;
use crate::setup::stick_way::Full;
use crate::setup::{Setup, Signals, is_cut_short};
use crate::signal::{Answer, Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(stated) = setup.craft.controller.as_ref().and_then(|controller| controller.full_above) else { return };
    let full = Full::from(stated.value);
    for flight in setup.flights() {
        let function = flight.function;
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() || full.is_seen(function, flight.seen(signals)) {
            continue;
        }
        let Some(known) = out.channel(setup, flight.channel) else { continue };
        let place = setup.in_model(known.header);
        if out.moved_by(signals, flight.channel, place).is_none_or(|movers| movers.is_empty()) {
            continue;
        }
        let short = full.ends(function).into_iter().any(|end| {
            let question = Question::received(u16::from(flight.channel), end);
            matches!(out.ask(signals, &question, place), Some(Answer::No(_)))
        });
        if !short {
            continue;
        }
        let range = out.range(signals, flight.channel, Measure::Received, &Within::default(), place);
        let Some(Reach::Range(range)) = range else { continue };
        let facts = [
            text("stick", called(setup.hands().grip, function)),
            us("from", range.low),
            us("to", range.high),
            channel(flight.channel),
            us("full", stated.value),
        ];
        let reached = fill("channel {channel} arrives at {from} to {to}", &facts);
        let sentence =
            "The whole way of the {stick} reads {from} to {to} on channel {channel}, and full counts from {full}.";
        let finding = out.find(place, "short", sentence, facts);
        finding
            .severity(if function == Stick::Throttle { Severity::Note } else { Severity::Caution })
            .reaches(reached)
            .other(setup.in_craft(stated.span), "what counts as full");
        let greatest = greatest_rate(setup.model, function);
        let head = &setup.model.head;
        if let Some(line) = greatest.filter(|line| line.rate.value < Decimal::whole(100)) {
            finding.mend_offer("let the greatest rate be 100 %", vec![replace(head, line.rate.span, "100 %")]);
        } else if let Some(travel) = known.travel.filter(|_| is_cut_short(known) && known.ends.is_none()) {
            let text = "travel -100..100 %";
            finding.mend_offer("let the travel be -100..100 %", vec![replace(head, travel.span, text)]);
        }
    }
}
