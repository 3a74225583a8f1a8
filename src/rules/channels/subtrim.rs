//! `channels/subtrim`: a subtrim or another centre on a multirotor's flight function.

use crate::findings::fact::{channel, percent, us};
use crate::rules::out::{Out, choice, remove};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let scale = setup.handset.and_then(|handset| handset.scale.as_ref()).map(|scale| scale.value.0);
    for known in setup.model.channels.iter().filter(|known| setup.is_flight(known.number.value)) {
        let number = channel(known.number.value);
        let mut found = Vec::new();
        if let Some(subtrim) = known.subtrim.filter(|subtrim| subtrim.value.mantissa() != 0) {
            let facts = [number.clone(), percent("subtrim", subtrim.value)];
            let sentence =
                "Channel {channel} has a subtrim of {subtrim}: a flight controller expects its functions without one.";
            found.push((subtrim.span, "subtrim", sentence, facts));
        }
        if let Some(centre) = known.centre.filter(|centre| Some(centre.value) != scale) {
            let facts = [number, us("centre", centre.value)];
            let sentence =
                "Channel {channel} has a centre of {centre}: a flight controller expects its functions without one.";
            found.push((centre.span, "centre", sentence, facts));
        }
        for (span, key, sentence, facts) in found {
            // It may be there on purpose.
            out.find(setup.in_model(span), key, sentence, facts).mend_choices(
                "Take it out, and centre the function in the flight controller.",
                vec![choice("take the line out", vec![remove(&setup.model.head, span)])],
            );
        }
    }
}
