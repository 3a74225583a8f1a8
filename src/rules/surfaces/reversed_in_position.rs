//! `surfaces/reversed-in-position`: a stick acts one way in one position of a control, and the other way in another.

use super::{sentence, shown, with};
use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, text, us};
use crate::findings::hands::called;
use crate::fleet::words::{CraftKind, Stick};
use crate::rules::out::Out;
use crate::setup::surfaces::answers::{Answers, own_sticks};
use crate::setup::surfaces::directions::turns;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    if let Some(surfaces) = &setup.craft.surfaces {
        let answers = signals.answers(surfaces);
        for surface in &surfaces.channels {
            for stick in own_sticks(setup, surfaces, surface) {
                one(setup, signals, answers, surface.channel.value, stick, out);
            }
        }
    }
    // The motor of a helicopter follows a curve of its own in each position.
    for motor in out.motors(setup).iter().filter(|_| !setup.is(CraftKind::Helicopter)) {
        let Some(answers) = signals.answers_of(motor.number()) else { continue };
        one(setup, signals, &answers, motor.number(), Stick::Throttle, out);
    }
    for flight in setup.flights().iter().filter(|flight| flight.function != Stick::Throttle) {
        let Some(answers) = signals.answers_of(flight.channel) else { continue };
        one(setup, signals, &answers, flight.channel, flight.function, out);
    }
}

fn one(setup: &Setup<'_>, signals: &Signals, answers: &Answers, number: u8, stick: Stick, out: &mut Out<'_>) {
    let Some(found) = turns(answers, number, stick) else { return };
    let Some(known) = out.channel(setup, number) else { return };
    let (held, mut facts) = with(answers, signals, found.turned.0);
    facts.extend([
        channel(number),
        text("stick", called(setup.hands().grip, stick)),
        us("from", Computed(found.turned.1.low, 1)),
        us("to", Computed(found.turned.1.high, 1)),
        us("usual_from", Computed(found.usual.1.low, 1)),
        us("usual_to", Computed(found.usual.1.high, 1)),
    ]);
    let rest = "the {stick} moves channel {channel} from {from} to {to}, and elsewhere the other way, from {usual_from} to {usual_to}.";
    out.find(setup.in_model(known.header), "turned", &sentence(held, rest), facts)
        .shown_by(shown(answers, signals, found.turned.0, Some(stick)))
        .other(setup.read_at(number), "what the channel moves");
}
