//! `channels/subtrim`: a subtrim or another centre on a multirotor's flight function.

use crate::rules::out::{Out, remove};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    for channel in pair.model.channels.iter().filter(|channel| pair.is_flight(channel.number.value)) {
        let number = channel.number.value;
        let subtrim = channel
            .subtrim
            .filter(|subtrim| subtrim.value.mantissa() != 0)
            .map(|stated| (stated.span, format!("a subtrim of {} %", stated.value)));
        let scale = pair.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value.0);
        let centre = channel
            .centre
            .filter(|centre| Some(centre.value) != scale)
            .map(|stated| (stated.span, format!("a centre of {} us", stated.value)));
        for (span, what) in subtrim.into_iter().chain(centre) {
            let message =
                format!("Channel {number} has {what}: a flight controller expects its functions without one.");
            out.find(pair.in_model(span), message).mend_sure("take the line out", vec![remove(&pair.model.head, span)]);
        }
    }
}
