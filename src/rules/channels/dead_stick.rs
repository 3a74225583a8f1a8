//! `channels/dead-stick`: a position of some control takes a flight function away.

use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::{Setup, float};
use crate::signal::{Handle, Kept, Measure, Path, Reach, Setting, Within};

/// How much more than enough, in microseconds, is enough in any rounding.
const WELL: f64 = 1.0;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(signals) = setup.signals() else { return };
    let share = out.parameter("share", Dimension::Percent).to_f64() / 100.0;
    let switches = signals.switches();
    for flight in setup.flights() {
        let (function, channel) = (flight.function, flight.channel);
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() {
            continue;
        }
        let Some(known) = flight.known.filter(|_| function != Stick::Throttle) else { continue };
        // A switch of which each position leaves the stick enough of its way, as two states show, need not be asked about.
        let seen = flight.seen(signals);
        let wide = |control, position| {
            let ends = seen.with(signals, control, position);
            ends.is_some_and(|ends| float(ends.greatest()) - float(ends.least()) > 1000.0 * share + WELL)
        };
        let mut named = seen.mentions.controls.iter();
        if named.all(|&control| (0..signals.positions(control)).all(|position| wide(control, position))) {
            continue;
        }
        let Some(movers) = out.moved_by(signals, channel, setup.in_model(known.header)) else { continue };
        // Without a switch in play the whole span is always there, or other rules speak.
        let movers = movers.into_iter().filter(|control| switches.contains(control));
        let place = setup.in_model(known.header);
        for control in movers {
            let found = (0..signals.positions(control)).find_map(|position| {
                let kept = Kept::At(Setting::Position(position));
                let within = Within { fixed: vec![(Handle::Control(control), kept)], ..Within::default() };
                match out.range(signals, channel, Measure::Received, &within, place)? {
                    Reach::Range(range) if range.high - range.low < 1000.0 * share => Some((position, range)),
                    _ => None,
                }
            });
            let Some((position, range)) = found else { continue };
            let word = signals.position_name(control, position);
            let message = format!(
                "With \"{}\" at {word}, the whole way of the {} stick moves channel {channel} only from {} to {}.",
                signals.name(control),
                function.word(),
                us(range.low),
                us(range.high)
            );
            let stand = signals.start(&[(control, Setting::Position(position))]);
            out.find_text(place, message).shown_by(signals.witness(&Path::at(stand)));
            break;
        }
    }
}
