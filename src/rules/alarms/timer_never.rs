//! `alarms/timer-never`: a timer that can never start.

use super::in_flight;
use crate::fleet::condition::ConditionKind;
use crate::rules::out::{Out, choice, replace};
use crate::rules::wording::us;
use crate::setup::Setup;
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(signals) = setup.signals() else { return };
    for timer in &setup.model.timers {
        let Some(when) = &timer.when else { continue };
        let place = setup.in_model(timer.span);
        let Ok(condition) = signals.lowered().when(when) else { continue };
        if out.decide(signals, &Question::is(condition), place) != Some(false) {
            continue;
        }
        let mut channels: Vec<u8> = Vec::new();
        when.walk(&mut |condition| {
            if let ConditionKind::Channel { channel, .. } = &condition.kind
                && !channels.contains(&channel.value)
            {
                channels.push(channel.value);
            }
        });
        let reached = channels.into_iter().filter_map(|channel| {
            match out.range(signals, channel, Measure::Sent, &Within::default(), place)? {
                Reach::Range(range) => {
                    Some(format!("channel {channel} is sent at {} to {}", us(range.low), us(range.high)))
                }
                _ => None,
            }
        });
        let reached: Vec<String> = reached.collect();
        let flight = in_flight(setup).filter(|flight| *flight != when.to_string()).map(|flight| {
            let edit = replace(&setup.model.head, when.span, flight.clone());
            choice(format!("let it run while {flight}"), vec![edit])
        });
        let finding = out.find_text(place, "No position of any control makes the timer run.");
        if !reached.is_empty() {
            finding.reaches(reached.join("; "));
        }
        finding.mend_choices("Change the condition to one that holds in flight.", flight.into_iter().collect());
    }
}
