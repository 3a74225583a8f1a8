//! `throttle/stray-stick`: the stick of roll or pitch changes the power of a motor.

use super::running;
use crate::findings::fact::{channel, text, us};
use crate::findings::hands::called;
use crate::fleet::words::Stick;
use crate::rules::out::Out;
use crate::setup::stick_way::centred;
use crate::setup::{Setup, Signals, sticks};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for motor in out.motors(setup) {
        let named = sticks(setup.model, setup.handset, motor.number());
        // What no throttle drives is on another stick altogether, which a rule of its own tells.
        let strays: Vec<Stick> =
            [Stick::Roll, Stick::Pitch].into_iter().filter(|stick| named.contains(stick)).collect();
        if strays.is_empty() || !named.contains(&Stick::Throttle) {
            continue;
        }
        let place = setup.in_model(motor.channel.header);
        let paths = running(out, signals, motor, None, place, centred);
        let found = strays.iter().find_map(|&stick| paths.iter().find_map(|path| motor.strays(signals, path, stick)));
        let Some(found) = found else { continue };
        let facts = [
            channel(motor.number()),
            text("stick", called(setup.hands().grip, found.stick)),
            us("before", &found.before),
            us("after", &found.after),
        ];
        let sentence = "The {stick} takes the motor on channel {channel} from {before} to {after} while the throttle stands still.";
        out.find(place, "strays", sentence, facts)
            .shown_by(signals.witness(&found.path))
            .other(motor.place, "the motor")
            .mend_words(
                "Take that stick out of the motor's channel; where the rudder was to help, it is the yaw stick.",
            );
    }
}
