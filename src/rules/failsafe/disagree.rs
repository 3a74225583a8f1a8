//! `failsafe/disagree`: model and receiver state different failsafes.

use crate::findings::fact::{Fact, Unit, amount, channel, us, word};
use crate::fleet::Decimal;
use crate::fleet::craft::Failsafe;
use crate::fleet::words::FailsafeAction;
use crate::rules::out::Out;
use crate::setup::{Disagreement, Setup};

pub(in crate::rules) fn check(setup: &Setup<'_>, out: &mut Out<'_>) {
    for at in setup.at_loss() {
        let Some((told, own, how)) = at.disagreement(setup) else { continue };
        let mut facts = Vec::new();
        let (key, sentence) = match how {
            Disagreement::Plan => {
                let first = says(told, ["told", "told first"], &mut facts);
                let second = says(own, ["own", "own first"], &mut facts);
                let template = [
                    "The model says that the receiver ",
                    &first,
                    " when the link is lost, and the receiver says that it ",
                    &second,
                    ". The receiver acts.",
                ];
                ("plan", template.concat())
            }
            Disagreement::Pulse(number, here, there) => {
                facts.extend([channel(number), stored("told", here), stored("own", there)]);
                let sentence = "The stored pulses differ: for channel {channel} the model says {told}, and the receiver says {own}. The receiver acts.";
                ("pulse", sentence.to_owned())
            }
        };
        out.find(setup.in_model(told.header), key, &sentence, facts)
            .other(setup.in_craft(own.header), "what the receiver says");
    }
}

/// What a failsafe does, as a part of a sentence; its facts have these names: what it does, and for how long it holds first.
fn says(failsafe: &Failsafe, [does, first]: [&'static str; 2], facts: &mut Vec<Fact>) -> String {
    let action = match failsafe.action.value {
        FailsafeAction::OutputStops => "stops the outputs",
        FailsafeAction::Hold => "repeats the last pulses",
        FailsafeAction::Preset => "gives out stored pulses",
    };
    facts.push(word(does, action));
    match failsafe.hold_first {
        Some(held) => {
            facts.push(amount(first, held.value, Unit::S));
            format!("repeats the last pulses for {{{first}}} and then {{{does}}}")
        }
        None => format!("{{{does}}}"),
    }
}

fn stored(name: &'static str, pulse: Option<Decimal>) -> Fact {
    pulse.map_or_else(|| word(name, "nothing"), |pulse| us(name, pulse))
}
