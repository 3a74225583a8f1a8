//! `surfaces/spool-pitch`: the curves of a helicopter's motor and of its blades are not on the same positions.

use crate::findings::fact::Amount::Computed;
use crate::findings::fact::{channel, name, text, us};
use crate::rules::out::Out;
use crate::setup::surfaces::spool::spool_pitch;
use crate::setup::{Setup, Signals};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(surfaces) = &setup.craft.surfaces else { return };
    let answers = signals.answers(surfaces);
    for motor in out.motors(setup) {
        let place = setup.in_model(motor.channel.header);
        let found = match spool_pitch(surfaces, motor, signals, answers) {
            Ok(found) => found,
            Err(why) => {
                out.why(why, place);
                continue;
            }
        };
        let Some(found) = found else { continue };
        let number = found.surface.channel.value;
        let Some(known) = out.channel(setup, number) else { continue };
        let facts = [
            channel(number),
            name("control", signals.name(found.control)),
            text("starts_at", signals.position_name(found.control, found.at[0])),
            text("runs_at", signals.position_name(found.control, found.at[1])),
            us("starts", Computed(found.pulses[0], 1)),
            us("runs", Computed(found.pulses[1], 1)),
        ];
        let sentence = "With the stick at the bottom the motor idles with {control} {starts_at}, and the collective on channel {channel} is at {starts} there; with {control} {runs_at}, where the motor runs, it is at {runs}, less far down: the curves of motor and blades are not on the same positions.";
        out.find(setup.in_model(known.header), "unlike", sentence, facts)
            .shown_by(signals.witness(&found.path))
            .other(place, "the motor");
    }
}
