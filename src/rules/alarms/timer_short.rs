//! `alarms/timer-short`: a timer that always runs sounds long before the battery is used.

use crate::findings::fact::{Unit, amount};
use crate::fleet::Dimension;
use crate::rules::out::Out;
use crate::setup::Setup;
use crate::setup::alarms::lasts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let share = out.parameter("share", Dimension::Percent);
    let Some(lasts) = lasts(setup).filter(|_| setup.craft.flight_battery().is_some()) else { return };
    // One with a condition may count how long a motor ran, or a launch.
    let always = setup.model.timers.iter().filter(|timer| timer.when.is_none());
    for timer in always.filter(|timer| lasts.is_much_longer_than(timer.time.value, share)) {
        let facts = [amount("set", timer.time.value, Unit::Clock), amount("lasts", lasts.seconds, Unit::Clock)];
        let sentence = "The timer sounds after {set}, and the battery lasts {lasts}: its time is likely in another unit than meant.";
        out.find(setup.in_model(timer.span), "short", sentence, facts)
            .mend_words("Set the time after which you want to land.");
    }
}
