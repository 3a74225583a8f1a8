//! `alarms/timer-long`: the timer runs longer than the battery lasts.

use super::{SUM, sum};
use crate::findings::fact::{Unit, amount, fill};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;
use crate::setup::alarms::lasts;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // The shortest timer is the one that warns; a longer one beside it is for something else.
    let Some(timer) = setup.model.timers.iter().min_by_key(|timer| timer.time.value) else { return };
    let Some(lasts) = lasts(setup).filter(|lasts| lasts.is_shorter_than(timer.time.value)) else { return };
    let mut facts = vec![amount("set", timer.time.value, Unit::Clock)];
    facts.extend(sum(&lasts));
    let edit = replace(&setup.model.head, timer.time.span, fill("{lasts}", &facts));
    let choices = vec![choice(fill("set the timer to {lasts}", &facts), vec![edit])];
    let sentence = ["The timer is set to {set}, and the battery lasts ", SUM, ", with a fifth of the charge left."];
    let finding = out.find(setup.in_model(timer.span), "long", &sentence.concat(), facts);
    finding.mend_choices("Shorten the timer to the time that the sum gives, or less.", choices);
    if let Some(battery) = setup.craft.watched_battery() {
        finding.other(setup.in_craft(battery.header), "the battery");
    }
}
