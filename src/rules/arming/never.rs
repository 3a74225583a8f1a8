//! `arming/never`: nothing the pilot does asks to arm.

use super::spare_switches;
use crate::findings::fact::{channel, channels, fill, us};
use crate::rules::out::Out;
use crate::setup::{Setup, Signals};
use crate::signal::{Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    let Some(arming) = setup.arming(signals) else { return };
    let Some(mode) = setup.craft.controller.as_ref().and_then(|controller| controller.arm_mode()) else { return };
    if out.decide(signals, &Question::is(arming.asks.clone()), arming.place) != Some(false) {
        return;
    }
    let reached = mode.tests().filter_map(|test| {
        let number = test.channel.value;
        let range = out.range(signals, number, Measure::Received, &Within::default(), arming.place);
        let Some(Reach::Range(range)) = range else { return None };
        let (from, to) = test.range.value;
        let facts = [channel(number), us("low", range.low), us("high", range.high), us("from", from), us("to", to)];
        let words = "channel {channel} arrives at {low} to {high}, and the controller arms at {from} to {to}";
        Some(fill(words, &facts))
    });
    let reached: Vec<String> = reached.collect();
    let words = "Give the arming channel a control and values that reach the range of the mode, or correct the range.";
    let sentence = "No position of any control asks to arm.";
    out.find(arming.place, "never", sentence, [channels("channels", setup.arm_channels())])
        .other(setup.in_craft(mode.span), "the range that it would have to reach")
        .reaches(reached.join("; "))
        .mend_choices(words, spare_switches(setup, arming.channel));
}
