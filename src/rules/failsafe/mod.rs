//! Rules about what happens when the link is lost: the receiver's part, and the controller's.

rules_of!(failsafe);

use super::out::{choice, replace};
use crate::findings::fact::us;
use crate::findings::hands::lowest;
use crate::findings::{Choice, Finding};
use crate::fleet::words::{FailsafeAction, LossAction};
use crate::setup::failsafe::rest_pulse;
use crate::setup::{AtLoss, Plan, Setup};
use crate::signal::Exact;

/// The failsafes of a setup that give out stored pulses, each with the receiver at which it acts.
fn presets<'s, 'f>(setup: &'s Setup<'f>) -> impl Iterator<Item = (&'s AtLoss<'f>, Plan<'f>)> {
    setup.at_loss().iter().filter_map(|at| Some((at, at.does(FailsafeAction::Preset)?)))
}

/// Says of combined receivers that the link is lost only once all have lost it.
fn once_all_have(setup: &Setup<'_>, at: &AtLoss<'_>, finding: &mut Finding) {
    if setup.is_backed(at) {
        finding.also("combined", "The receivers are combined: that is so once all of them have lost the link.", []);
    }
}

/// The choice to let the receiver send nothing at a loss.
fn stop_outputs(plan: &Plan<'_>) -> Choice {
    let edit = replace(plan.head, plan.whole(), "failsafe output-stops");
    choice("let the receiver stop its outputs, so that the controller notices the loss", vec![edit])
}

/// The choice to store pulses at a loss; none where the pulses at rest are not known.
fn store(plan: &Plan<'_>, setup: &Setup<'_>) -> Option<Choice> {
    let pulses = rest_preset(setup)?;
    let edit = replace(plan.head, plan.whole(), format!("failsafe preset {{ {pulses} }}"));
    let label = format!("store the pulses that the model sends at rest, with the {}", lowest(setup.hands().grip));
    Some(choice(label, vec![edit]))
}

/// The lines of a preset that stores, for every channel the aircraft uses, the pulse at rest.
fn rest_preset(setup: &Setup<'_>) -> Option<String> {
    let signals = setup.signals()?;
    let mut channels: Vec<u8> = setup.used().map(|(channel, ..)| channel).collect();
    channels.sort_unstable();
    let line = |channel: &u8| Some(format!("channel {channel} {}", written(&rest_pulse(signals, *channel)?)));
    let lines = channels.iter().map(line).collect::<Option<Vec<_>>>()?;
    (!lines.is_empty()).then(|| lines.join("; "))
}

/// What a controller does at a loss, in words.
fn action(loss: LossAction) -> &'static str {
    match loss {
        LossAction::MotorsOff => "stop the motors",
        LossAction::Descend => "come down",
        LossAction::Circle => "circle",
        LossAction::FlyBack => "fly back",
        LossAction::Nothing => "do nothing",
    }
}

/// Said with every preset: the copy in the receiver is what counts.
const FROZEN: &str = "A preset is commonly frozen in the receiver when it is stored: store it there again too.";

/// A pulse of the signal path as a description writes it.
fn written(pulse: &Exact) -> String {
    us("pulse", pulse).value.to_string()
}
