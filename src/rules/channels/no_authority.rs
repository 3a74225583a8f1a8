//! `channels/no-authority`: a position of some control takes a flight function away.

use crate::findings::fact::{channel, name, text, us};
use crate::findings::hands::called;
use crate::fleet::Dimension;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::stick_way::LeastWay;
use crate::setup::{Setup, Signals};
use crate::signal::{Handle, Kept, Measure, Path, Reach, Setting, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let least = LeastWay::share(out.parameter("share", Dimension::Percent));
    let switches = signals.switches();
    for flight in setup.flights() {
        // Which stick is on the wrong channel is said by channels/order.
        if flight.crossed().is_some() || flight.function == Stick::Throttle {
            continue;
        }
        let Some(known) = out.channel(setup, flight.channel) else { continue };
        // A switch of which each position leaves the stick enough of its way, as two states show, need not be asked about.
        if least.is_seen(signals, flight.seen(signals)) {
            continue;
        }
        let place = setup.in_model(known.header);
        let Some(movers) = out.moved_by(signals, flight.channel, place) else { continue };
        // Without a switch in play the whole span is always there, or other rules speak.
        for control in movers.into_iter().filter(|control| switches.contains(control)) {
            let found = (0..signals.positions(control)).find_map(|position| {
                let kept = Kept::At(Setting::Position(position));
                let within = Within { fixed: vec![(Handle::Control(control), kept)], ..Within::default() };
                match out.range(signals, flight.channel, Measure::Received, &within, place)? {
                    Reach::Range(range) if least.is_missed_by(&range) => Some((position, range)),
                    _ => None,
                }
            });
            let Some((position, range)) = found else { continue };
            let facts = [
                name("control", signals.name(control)),
                text("position", signals.position_name(control, position)),
                text("stick", called(setup.hands().grip, flight.function)),
                channel(flight.channel),
                us("from", range.low),
                us("to", range.high),
            ];
            let sentence = "With {control} at {position}, the whole way of the {stick} moves channel {channel} only from {from} to {to}.";
            let stand = signals.start(&[(control, Setting::Position(position))]);
            out.find(place, "dead", sentence, facts).shown_by(signals.witness(&Path::at(stand)));
            break;
        }
    }
}
