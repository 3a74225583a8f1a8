//! `alarms/timer-long`: the timer runs longer than the battery lasts.

use super::{lasts, minutes};
use crate::rules::out::{Out, choice, replace};
use crate::rules::subject::Pair;

pub(in crate::rules) fn check(pair: &Pair<'_>, out: &mut Out<'_>) {
    // The shortest timer is the one that warns; a longer one beside it is for something else.
    let Some(timer) = pair.model.timers.iter().min_by_key(|timer| timer.time.value) else { return };
    let Some((seconds, sum)) = lasts(pair) else { return };
    let set = timer.time.value.to_f64();
    if set <= seconds + 1e-6 || pair.model.simulator.is_some() || pair.model.head.lost_any(&["timer"]) {
        return;
    }
    let edit = replace(&pair.model.head, timer.time.span, minutes(seconds));
    let finding = out.find(
        pair.in_model(timer.span),
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
    if let Some(battery) = &pair.craft.battery {
        finding.other(pair.in_craft(battery.header), "the battery");
    }
}
