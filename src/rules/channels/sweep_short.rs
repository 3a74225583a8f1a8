//! `channels/sweep-short`: a `full-sweep` is shorter than a servo takes by itself.

use crate::findings::fact::{Unit, amount, channel};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let least = out.parameter("shortest", Dimension::Time);
    for known in &setup.model.channels {
        let Some(sweep) = known.full_sweep else { continue };
        let mut times = [sweep.value.up, sweep.value.down].into_iter();
        let Some(time) = times.find(|time| time.mantissa() > 0 && *time < least) else { continue };
        let facts = [channel(known.number.value), amount("sweep", time, Unit::S)];
        let sentence = "Channel {channel} is to take {sweep} for its whole way: no servo is that quick, so that nothing is slowed.";
        out.find(setup.in_model(sweep.span), "short", sentence, facts)
            .mend_words("Write the time in the unit that was meant, or take the line out.");
    }
}
