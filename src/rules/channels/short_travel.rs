//! `channels/short-travel`: a full stick does not read as full.

use crate::findings::Severity;
use crate::fleet::Decimal;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, replace};
use crate::rules::wording::us;
use crate::setup::{Setup, number};
use crate::signal::{Answer, Bound, Bounds, Measure, Question, Reach, Within, exact, whole};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(full) = setup.craft.controller.as_ref().and_then(|controller| controller.full_above) else { return };
    // The mirror image of the upper end about the centre of 1500 us (common practice, no source).
    let (upper, lower) = (number(full.value), whole(3000) - number(full.value));
    for flight in setup.flights() {
        let (function, channel) = (flight.function, flight.channel);
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() {
            continue;
        }
        let (Some(known), Some(signals)) = (flight.known, setup.signals()) else { continue };
        let ends = &flight.seen(signals).ends;
        let is_full = ends.iter().any(|ends| *ends.greatest() >= exact(upper))
            && (function == Stick::Throttle || ends.iter().any(|ends| *ends.least() <= exact(lower)));
        if is_full {
            continue;
        }
        let place = setup.in_model(known.header);
        if out.moved_by(signals, channel, place).is_none_or(|movers| movers.is_empty()) {
            continue;
        }
        let top = Bounds { low: Some(Bound { at: upper, strict: false }), high: None };
        let mirror = Bounds { low: None, high: Some(Bound { at: lower, strict: false }) };
        let ends: &[Bounds] = if function == Stick::Throttle { &[top] } else { &[top, mirror] };
        let short = ends.iter().any(|bounds| {
            matches!(out.ask(signals, &Question::received(u16::from(channel), *bounds), place), Some(Answer::No(_)))
        });
        if !short {
            continue;
        }
        let Some(Reach::Range(range)) = out.range(signals, channel, Measure::Received, &Within::default(), place)
        else {
            continue;
        };
        let severity = if function == Stick::Throttle { Severity::Note } else { Severity::Caution };
        let message = format!(
            "The whole way of the {} stick reads {} to {} on channel {channel}, and full counts from {} us.",
            function.word(),
            us(range.low),
            us(range.high),
            full.value
        );
        let finding = out.find_text(place, message);
        finding.severity(severity).reaches(format!(
            "channel {channel} arrives at {} to {}",
            us(range.low),
            us(range.high)
        ));
        finding.other(setup.in_craft(full.span), "what counts as full");
        let rates = setup.model.rates.iter().find(|rates| rates.stick.value == function);
        let best = rates.and_then(|rates| rates.lines.iter().max_by(|a, b| a.rate.value.cmp(&b.rate.value)));
        if let Some(line) = best.filter(|line| line.rate.value < Decimal::whole(100)) {
            finding
                .mend_sure("let the greatest rate be 100 %", vec![replace(&setup.model.head, line.rate.span, "100 %")]);
        } else if let Some(travel) =
            known.travel.filter(|travel| travel.value.1 < Decimal::whole(100) || travel.value.0 > Decimal::whole(-100))
        {
            finding.mend_sure(
                "let the travel be -100..100 %",
                vec![replace(&setup.model.head, travel.span, "travel -100..100 %")],
            );
        }
    }
}
