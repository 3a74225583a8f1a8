//! `modes/unreachable`: no position turns a mode on.

use super::{Seen, modes};
use crate::findings::fact::{channel, channels, fill, name, us};
use crate::fleet::words::ModeKind;
use crate::rules::out::{Out, choice, replace};
use crate::setup::{Setup, Signals, reachable_range};
use crate::signal::{Condition, Measure, Question, Reach, Within};

pub(in crate::rules) fn check(setup: &Setup<'_>, signals: &Signals, out: &mut Out<'_>) {
    for seen in modes(setup, signals) {
        match out.decide(signals, &Question::is(seen.on.clone()), seen.place) {
            Some(false) => {}
            Some(true) => {
                while_armed(setup, signals, &seen, out);
                continue;
            }
            None => continue,
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

/// A mode of flight that can be turned on only while the aircraft is not armed is never flown.
fn while_armed(setup: &Setup<'_>, signals: &Signals, seen: &Seen<'_>, out: &mut Out<'_>) {
    let of_flight = matches!(seen.mode.kind.map(|kind| kind.value), None | Some(ModeKind::Return | ModeKind::Land));
    let Some(asks) = signals.asks().filter(|_| of_flight) else { return };
    let both = Question::is(Condition::All(vec![seen.on.clone(), asks.clone()]));
    if out.decide(signals, &both, seen.place) != Some(false)
        || out.decide(signals, &Question::is(asks), seen.place) != Some(true)
    {
        return;
    }
    let facts = [channels("channels", seen.mode.channels()), name("mode", seen.mode.name.value.clone())];
    let sentence = "No position of the controls turns mode {mode} on while it asks to arm: it can't be flown.";
    out.find(seen.place, "while armed", sentence, facts)
        .other(setup.in_craft(seen.mode.span), "the range that it would have to reach")
        .mend_words("Give the mode a channel of its own, or a range that does not shut out the request to arm.");
}
