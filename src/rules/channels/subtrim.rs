//! `channels/subtrim`: a subtrim or another centre on a multirotor's flight function.

use crate::rules::out::{Out, remove};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for channel in setup.model.channels.iter().filter(|channel| setup.is_flight(channel.number.value)) {
        let number = channel.number.value;
        let subtrim = channel
            .subtrim
            .filter(|subtrim| subtrim.value.mantissa() != 0)
            .map(|stated| (stated.span, format!("a subtrim of {} %", stated.value)));
        let scale = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value.0);
        let centre = channel
            .centre
            .filter(|centre| Some(centre.value) != scale)
            .map(|stated| (stated.span, format!("a centre of {} us", stated.value)));
        for (span, what) in subtrim.into_iter().chain(centre) {
            let message =
                format!("Channel {number} has {what}: a flight controller expects its functions without one.");
            out.find_text(setup.in_model(span), message)
                .mend_sure("take the line out", vec![remove(&setup.model.head, span)]);
        }
    }
}
