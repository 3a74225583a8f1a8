//! Rules about what happens when the link is lost: the receiver's part, and the controller's.

pub(super) mod disagree;
pub(super) mod disarms;
pub(super) mod drop;
pub(super) mod hides_loss;
pub(super) mod hold;
pub(super) mod incomplete;
pub(super) mod no_action;
pub(super) mod not_stated;
pub(super) mod preset_arms;
pub(super) mod pulses_stop;
pub(super) mod restarts;
pub(super) mod throttle;

use super::out::{choice, replace};
use super::signals::float;
use super::subject::Pair;
use crate::findings::{Choice, Edit};
use crate::fleet::Decimal;
use crate::fleet::craft::{Controller, Craft, Failsafe, Mode, OnLoss, Outputs, PresetPulse};
use crate::fleet::equipment::Head;
use crate::fleet::words::{CraftKind, FailsafeAction, LossAction, ModeKind, MotorKind};
use crate::signal::Path;
use crate::source::{Place, Span};

/// The failsafe that acts: the receiver's where it states one, since the handset can't be heard then; else the one that
/// the model states.
#[derive(Clone, Copy, Debug)]
struct Plan<'p> {
    failsafe: &'p Failsafe,
    head: &'p Head,
}

/// The failsafe of a pair; none for a simulator.
fn plan<'p>(pair: &Pair<'p>) -> Option<Plan<'p>> {
    if pair.model.simulator.is_some() {
        return None;
    }
    let own = pair.receiver.and_then(|receiver| receiver.failsafe.as_ref());
    let own = own.map(|failsafe| Plan { failsafe, head: &pair.craft.head });
    own.or_else(|| Some(Plan { failsafe: pair.model.failsafe.as_ref()?, head: &pair.model.head }))
}

/// The failsafe of a pair where it gives out stored pulses.
fn preset<'p>(pair: &Pair<'p>) -> Option<Plan<'p>> {
    plan(pair).filter(|plan| plan.failsafe.action.value == FailsafeAction::Preset)
}

impl<'p> Plan<'p> {
    fn place(&self) -> Place {
        self.head.place(self.failsafe.header)
    }

    /// The whole statement, with its block.
    fn whole(&self) -> Span {
        let header = self.failsafe.header;
        Span::new(header.start, self.failsafe.body.map_or(header.end, |body| body.whole.end))
    }

    fn pulse(&self, channel: u8) -> Option<&'p PresetPulse> {
        self.failsafe.preset.iter().find(|pulse| pulse.channel.value == channel)
    }

    /// Whether some line of the preset could not be understood, so that a channel may be in it after all.
    fn is_partly_lost(&self) -> bool {
        self.head.lost_in(self.whole())
    }

    /// Whether the stored pulses turn a mode on; `None` where a channel that decides it is not in the preset.
    fn turns_on(&self, mode: &Mode) -> Option<bool> {
        let mut on = (!mode.tests.is_empty()).then_some(true);
        for test in &mode.tests {
            let (low, high) = test.range.value;
            match self.pulse(test.channel.value).map(|pulse| pulse.pulse.value) {
                Some(pulse) if pulse < low || pulse > high => return Some(false),
                Some(_) => {}
                None => on = None,
            }
        }
        on
    }

    /// Whether the stored pulses turn on a mode that flies back or lands; `None` where that is not known.
    fn brings_home(&self, controller: &Controller) -> Option<bool> {
        let home = |mode: &&Mode| mode.kind.is_some_and(|kind| matches!(kind.value, ModeKind::Return | ModeKind::Land));
        let mut found = Some(false);
        for mode in controller.modes.iter().filter(home) {
            match self.turns_on(mode) {
                Some(true) => return Some(true),
                Some(false) => {}
                None => found = None,
            }
        }
        found
    }

    /// The choice to let the receiver send nothing at a loss.
    fn stop_outputs(&self) -> Choice {
        choice("let the receiver stop its outputs, so that the controller notices the loss", vec![self.become_stop()])
    }

    fn become_stop(&self) -> Edit {
        replace(self.head, self.whole(), "failsafe output-stops")
    }

    /// The choice to store pulses at a loss; none where the pulses at rest are not known.
    fn store(&self, pair: &Pair<'_>) -> Option<Choice> {
        let pulses = rest_preset(pair)?;
        let edit = replace(self.head, self.whole(), format!("failsafe preset {{ {pulses} }}"));
        Some(choice("store the pulses that the model sends at rest, with the throttle stick at its lowest", vec![edit]))
    }
}

/// What the controller does at a loss, where it does something.
fn acts(controller: &Controller) -> Option<OnLoss> {
    controller.on_loss.filter(|loss| loss.action != LossAction::Nothing)
}

/// Whether the receiver flags a lost link; `None` where that is not stated.
fn flags_loss(pair: &Pair<'_>) -> Option<bool> {
    let outputs = pair.receiver?.outputs?;
    Some(outputs.value == Outputs::Serial { flags_loss: true })
}

/// Whether nothing drives the aircraft: a glider whose description has no motor.
fn is_motorless(craft: &Craft) -> bool {
    if let Some(motor) = craft.motor {
        return motor.value == MotorKind::None;
    }
    let glider = craft.kind.is_some_and(|kind| kind.value == CraftKind::Glider);
    glider && craft.controller.is_none() && craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.motors.is_empty())
}

/// The pulse that the model sends on a channel at rest, with the throttle stick at its lowest, in microseconds. A preset
/// does not travel over the link, so no level of it counts.
fn rest_pulse(pair: &Pair<'_>, channel: u8) -> Option<f64> {
    let program = pair.signals()?.program();
    let reading = program.play(&Path::at(program.rest()));
    Some(float(&reading.channel(u16::from(channel))?.sent))
}

/// The lines of a preset that stores, for every channel the aircraft uses, the pulse at rest.
fn rest_preset(pair: &Pair<'_>) -> Option<String> {
    let mut channels: Vec<u8> = pair.used().map(|(channel, ..)| channel).collect();
    channels.sort_unstable();
    let line = |channel: &u8| Some(format!("channel {channel} {}", super::signals::us(rest_pulse(pair, *channel)?)));
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
