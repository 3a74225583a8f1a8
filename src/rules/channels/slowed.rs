//! `channels/slowed`: a channel is slowed that has to be quick.

use crate::findings::fact::{Unit, amount, channel};
use crate::fleet::Dimension;
use crate::rules::out::{Out, remove};
use crate::setup::Setup;
use crate::setup::terms::has_constant_line;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let allowed = out.parameter("cut", Dimension::Time);
    let motors = setup.motor_channels();
    for known in &setup.model.channels {
        let Some(sweep) = known.full_sweep else { continue };
        let slowest = sweep.value.up.max(sweep.value.down);
        let number = known.number.value;
        let cut = motors.iter().any(|motor| motor.channel == number) && has_constant_line(known);
        let (key, sentence) = if setup.is_flight(number) && slowest.mantissa() > 0 {
            (
                "function",
                "Channel {channel} takes {sweep} for its whole way, and it is a flight function of a multirotor.",
            )
        } else if cut && sweep.value.down > allowed {
            ("cut", "Channel {channel} takes {sweep} for its whole way, and it is a motor with a throttle cut.")
        } else {
            continue;
        };
        let facts = [channel(number), amount("sweep", if key == "cut" { sweep.value.down } else { slowest }, Unit::S)];
        out.find(setup.in_model(sweep.span), key, sentence, facts)
            .mend_sure("take the line out", vec![remove(&setup.model.head, sweep.span)]);
    }
}
