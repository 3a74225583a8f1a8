//! `arming/never`: nothing the pilot does asks to arm.

use super::{arming, spare_switches};
use crate::rules::out::Out;
use crate::rules::wording::us;
use crate::setup::Setup;
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    let Some(arming) = arming(setup) else { return };
    let Some(mode) = setup.craft.controller.as_ref().and_then(|controller| controller.arm_mode()) else { return };
    if out.decide(arming.signals, &Question::is(arming.asks.clone()), arming.place) != Some(false) {
        return;
    }
    let mut reached = Vec::new();
    for test in &mode.tests {
        let channel = test.channel.value;
        let range = out.range(arming.signals, channel, Measure::Received, &Within::default(), arming.place);
        let (low, high) = test.range.value;
        if let Some(Reach::Range(range)) = range {
            reached.push(format!(
                "channel {channel} arrives at {} to {}, and the controller arms at {low} us to {high} us",
                us(range.low),
                us(range.high)
            ));
        }
    }
    let choices = setup.arm_channels().first().map(|&channel| spare_switches(setup, channel)).unwrap_or_default();
    let words = "Give the arming channel a control and values that reach the range of the mode, or correct the range.";
    out.find(arming.place, "No position of any control asks to arm.")
        .other(setup.in_craft(mode.span), "the range that it would have to reach")
        .reaches(reached.join("; "))
        .mend_choices(words, choices);
}
