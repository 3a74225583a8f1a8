//! `channels/off-centre`: a centred stick does not read as centred.

use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, remove};
use crate::rules::wording::us;
use crate::setup::signals::{above, below};
use crate::setup::{Setup, float, number};
use crate::signal::{Answer, ControlId, Function, Handle, Kept, Question, Setting, exact, whole};

/// What a flight controller takes for the centre of a function, in microseconds (common practice, no source).
const CENTRE: i64 = 1500;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let allowed = setup.craft.controller.as_ref().and_then(|controller| controller.deadband);
    let allowed = allowed.map_or_else(|| out.parameter("allow", Dimension::Pulse), |deadband| deadband.value);
    let (low, high) = (whole(CENTRE) - number(allowed), whole(CENTRE) + number(allowed));
    for flight in setup.flights() {
        let (function, channel) = (flight.function, flight.channel);
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() {
            continue;
        }
        let Some(known) = flight.known.filter(|_| function != Stick::Throttle) else { continue };
        let Some(signals) = setup.signals() else { return };
        if signals
            .program()
            .centred(u16::from(channel))
            .is_some_and(|pulse| exact(low) <= pulse && pulse <= exact(high))
        {
            continue;
        }
        let ends = [below(low), above(high)];
        // A stick that is mixed in has a rule of its own: all that have a centre are kept there.
        let centred = |question: Question, stick: ControlId| {
            let at = Kept::At(Setting::Percent(whole(0)));
            question.keeping(Handle::Control(stick), at).keeping(Handle::Trim(stick), at)
        };
        let sticks = [Function::Roll, Function::Pitch, Function::Yaw].into_iter().filter_map(|own| signals.stick(own));
        let sticks: Vec<ControlId> = sticks.collect();
        for bounds in ends {
            let question = sticks
                .iter()
                .fold(Question::received(u16::from(channel), bounds), |question, &stick| centred(question, stick));
            let place = setup.in_model(known.header);
            let Some(Answer::Yes(witness)) = out.ask(signals, &question, place) else { continue };
            let reading = signals.program().play(&witness.path);
            let Some(pulse) = reading.channel(u16::from(channel)).and_then(|seen| seen.received.as_ref()) else {
                continue;
            };
            let culprit = known.subtrim.map(|stated| (stated.span, "the subtrim"));
            let culprit = culprit.or(known.centre.map(|stated| (stated.span, "the centre")));
            let scale = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| number(scale.value.0));
            let cause = match culprit {
                Some((_, what)) => format!("{what} makes it so"),
                None if scale.is_some_and(|centre| centre != whole(CENTRE)) => {
                    "the handset's scale is not centred there".to_owned()
                }
                None => "the value, its curve or the levels of the link make it so".to_owned(),
            };
            let message = format!(
                "With the stick centred, {} reads {} on channel {channel} instead of {CENTRE} us: {cause}; up to {allowed} us off counts as centred.",
                function.word(),
                us(float(pulse))
            );
            let finding = out.find_text(place, message);
            finding.shown_by(signals.witness(&witness.path));
            if let Some((span, what)) = culprit {
                finding.mend_sure(format!("take {what} out"), vec![remove(&setup.model.head, span)]);
            }
            break;
        }
    }
}
