//! `channels/slowed`: a channel is slowed that has to be quick.

use crate::fleet::Dimension;
use crate::fleet::condition::ValueKind;
use crate::fleet::words::Stick;
use crate::rules::out::{Out, remove};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let allowed = out.parameter("cut", Dimension::Time);
    let controller = setup.craft.controller.as_ref();
    let throttle = controller.and_then(|controller| controller.channel_of(Stick::Throttle));
    let motors = setup.craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors).map(|motor| motor.channel.value);
    let motors: Vec<u8> = motors.chain(throttle).collect();
    for channel in &setup.model.channels {
        let Some(sweep) = channel.full_sweep else { continue };
        let number = channel.number.value;
        let cut = channel.lines.len() > 1
            && channel.lines.iter().any(|line| matches!(line.value.kind, ValueKind::Percent(_) | ValueKind::Negate(_)));
        let what = if setup.is_flight(number) && sweep.value.mantissa() > 0 {
            "a flight function of a multirotor"
        } else if motors.contains(&number) && cut && sweep.value > allowed {
            "a motor with a throttle cut"
        } else {
            continue;
        };
        let message = format!("Channel {number} takes {} s for its whole way, and it is {what}.", sweep.value);
        out.find_text(setup.in_model(sweep.span), message)
            .mend_sure("take the line out", vec![remove(&setup.model.head, sweep.span)]);
    }
}
