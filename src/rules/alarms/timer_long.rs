//! `alarms/timer-long`: the timer runs longer than the battery lasts.

use super::{lasts, minutes};
use crate::rules::out::{Out, choice, replace};
use crate::setup::Setup;

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    // The shortest timer is the one that warns; a longer one beside it is for something else.
    let Some(timer) = setup.model.timers.iter().min_by_key(|timer| timer.time.value) else { return };
    let Some((seconds, sum)) = lasts(setup) else { return };
    let set = timer.time.value.to_f64();
    if set <= seconds + 1e-6 || setup.model.simulator.is_some() || setup.model.head.lost_here(&["timer"]) {
        return;
    }
    let edit = replace(&setup.model.head, timer.time.span, minutes(seconds));
    let finding = out.find_text(
        setup.in_model(timer.span),
        format!(
            "The timer is set to {}, and the battery lasts {}, with a fifth of the charge left.",
            minutes(set),
            sum()
        ),
    );
    finding.mend_choices(
        "Shorten the timer to the time that the sum gives, or less.",
        vec![choice(format!("set the timer to {}", minutes(seconds)), vec![edit])],
    );
    if let Some(battery) = &setup.craft.battery {
        finding.other(setup.in_craft(battery.header), "the battery");
    }
}
