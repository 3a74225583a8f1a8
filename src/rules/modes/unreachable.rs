//! `modes/unreachable`: no position turns a mode on.

use super::modes;
use crate::rules::out::{Out, choice, replace};
use crate::rules::wording::us;
use crate::setup::Setup;
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some((signals, modes)) = modes(setup) else { return };
    for (mode, on, place) in modes {
        if out.decide(signals, &Question::is(on), place) != Some(false) {
            continue;
        }
        let mut reached = Vec::new();
        let mut choices = Vec::new();
        for test in &mode.tests {
            let channel = test.channel.value;
            let range = out.range(signals, channel, Measure::Received, &Within::default(), place);
            let Some(Reach::Range(range)) = range else { continue };
            reached.push(format!("channel {channel} arrives at {} to {}", us(range.low), us(range.high)));
            if let [_] = mode.tests.as_slice() {
                // The upper end of what is reached, with room on both sides (common practice, no source).
                let (low, high) = ((range.high - 150.0).round(), (range.high + 50.0).round());
                let edit = replace(&setup.craft.head, test.range.span, format!("{low}..{high} us"));
                let label = format!("let the mode count from {low} to {high} us, here and in the flight controller");
                choices.push(choice(label, vec![edit]));
            }
        }
        let message = format!("No position of any control turns mode \"{}\" on.", mode.name.value);
        let words = "Give the channel a control whose positions reach the range, or move the range to a position.";
        out.find(place, message)
            .other(setup.in_craft(mode.span), "the range that it would have to reach")
            .reaches(reached.join("; "))
            .mend_choices(words, choices);
    }
}
