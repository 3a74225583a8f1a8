//! `modes/unreachable`: no position turns a mode on.

use super::modes;
use crate::findings::fact::{channel, channels, fill, name, us};
use crate::rules::out::{Out, choice, replace};
use crate::setup::{Setup, Signals, reachable_range};
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for seen in modes(setup, signals) {
        if out.decide(signals, &Question::is(seen.on), seen.place) != Some(false) {
            continue;
        }
        let (mut reached, mut choices) = (Vec::new(), Vec::new());
        for test in seen.mode.tests() {
            let number = test.channel.value;
            let range = out.range(signals, number, Measure::Received, &Within::default(), seen.place);
            let Some(Reach::Range(range)) = range else { continue };
            let facts = [channel(number), us("low", range.low), us("high", range.high)];
            reached.push(fill("channel {channel} arrives at {low} to {high}", &facts));
            if seen.mode.tests().count() == 1 {
                let (low, high) = reachable_range(&range);
                let edit = replace(&setup.craft.head, test.range.span, format!("{low}..{high} us"));
                let label = format!("let the mode count from {low} to {high} us, here and in the flight controller");
                choices.push(choice(label, vec![edit]));
            }
        }
        let facts = [channels("channels", seen.mode.channels()), name("mode", seen.mode.name.value.clone())];
        let words = "Give the channel a control whose positions reach the range, or move the range to a position.";
        out.find(seen.place, "unreachable", "No position of any control turns mode {mode} on.", facts)
            .other(setup.in_craft(seen.mode.span), "the range that it would have to reach")
            .reaches(reached.join("; "))
            .mend_choices(words, choices);
    }
}
