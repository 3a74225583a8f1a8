//! Rules about what happens when the link is lost: the receiver's part, and the controller's.

rules_of!(failsafe);

use super::out::{choice, replace};
use crate::findings::{Choice, Edit};
use crate::fleet::Decimal;
use crate::fleet::craft::Failsafe;
use crate::fleet::words::{FailsafeAction, LossAction};
use crate::setup::failsafe::rest_pulse as exact_rest_pulse;
use crate::setup::{Plan, Setup, float};

/// The failsafe of a setup where it gives out stored pulses.
fn preset<'p>(setup: &Setup<'p>) -> Option<Plan<'p>> {
    setup.plan().filter(|plan| plan.action() == FailsafeAction::Preset)
}

/// Whether the main receiver flags a lost link; `None` where that is not stated.
fn flags_loss(setup: &Setup<'_>) -> Option<bool> {
    setup.receiver.and_then(crate::setup::failsafe::flags_loss)
}

/// The pulse that the model sends on a channel at rest, in microseconds.
fn rest_pulse(setup: &Setup<'_>, channel: u8) -> Option<f64> {
    Some(float(&exact_rest_pulse(setup.signals()?, channel)?))
}

/// The choice to let the receiver send nothing at a loss.
fn stop_outputs(plan: &Plan<'_>) -> Choice {
    choice("let the receiver stop its outputs, so that the controller notices the loss", vec![become_stop(plan)])
}

fn become_stop(plan: &Plan<'_>) -> Edit {
    replace(plan.head, plan.whole(), "failsafe output-stops")
}

/// The choice to store pulses at a loss; none where the pulses at rest are not known.
fn store(plan: &Plan<'_>, setup: &Setup<'_>) -> Option<Choice> {
    let pulses = rest_preset(setup)?;
    let edit = replace(plan.head, plan.whole(), format!("failsafe preset {{ {pulses} }}"));
    Some(choice("store the pulses that the model sends at rest, with the throttle stick at its lowest", vec![edit]))
}

/// The lines of a preset that stores, for every channel the aircraft uses, the pulse at rest.
fn rest_preset(setup: &Setup<'_>) -> Option<String> {
    let mut channels: Vec<u8> = setup.used().map(|(channel, ..)| channel).collect();
    channels.sort_unstable();
    let line =
        |channel: &u8| Some(format!("channel {channel} {}", crate::rules::wording::us(rest_pulse(setup, *channel)?)));
    let lines = channels.iter().map(line).collect::<Option<Vec<_>>>()?;
    (!lines.is_empty()).then(|| lines.join("; "))
}

/// What a failsafe does, in words.
fn words(failsafe: &Failsafe) -> String {
    let action = match failsafe.action.value {
        FailsafeAction::OutputStops => "stops the outputs",
        FailsafeAction::Hold => "repeats the last pulses",
        FailsafeAction::Preset => "gives out stored pulses",
        FailsafeAction::Unknown => "is not known",
    };
    match failsafe.hold_first {
        Some(first) => format!("repeats the last pulses for {} s and then {action}", first.value),
        None => action.to_owned(),
    }
}

/// What a controller does at a loss, in words.
fn action(loss: LossAction) -> &'static str {
    match loss {
        LossAction::MotorsOff => "stop the motors",
        LossAction::Descend => "come down",
        LossAction::FlyBack => "fly back",
        LossAction::Nothing => "do nothing",
    }
}

/// Said with every preset: the copy in the receiver is what counts.
const FROZEN: &str = "A preset is commonly frozen in the receiver when it is stored: store it there again too.";

/// A pulse as a description writes it.
fn written(pulse: Decimal) -> String {
    format!("{pulse} us")
}
