//! What happens after the link is lost, step by step.

use super::failsafe::AtLoss;
use super::of_craft::Setup;
use crate::fleet::Decimal;
use crate::fleet::craft::{PresetPulse, Receiver};
use crate::fleet::words::{FailsafeAction, LossAction};

/// What happens at one receiver when the link is lost, in the order in which it happens.
#[derive(Clone, Debug)]
pub struct Loss<'f> {
    /// The receiver; `None` where the aircraft states none.
    pub receiver: Option<&'f Receiver>,
    /// Whether another receiver drives the same channels as long as it hears the handset.
    pub backed: bool,
    /// The steps.
    pub steps: Vec<LossStep<'f>>,
}

/// One step.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum LossStep<'f> {
    /// The receiver repeats the last pulses for so many seconds.
    Repeats(Decimal),
    /// It does so without end.
    RepeatsOn,
    /// Its outputs stop.
    Stops,
    /// It gives stored pulses.
    Gives(&'f [PresetPulse]),
    /// What it does is not stated.
    ReceiverOpen,
    /// The controller does this, so many seconds after it notices the loss, where that is stated.
    Controller(LossAction, Option<Decimal>),
    /// The controller takes what it is given for flown commands, and does nothing of its own.
    Unnoticed,
    /// What the controller does is not stated.
    ControllerOpen,
}

impl<'f> Loss<'f> {
    /// What happens at each receiver of an aircraft; none for a simulator.
    pub fn of(setup: &Setup<'f>) -> Vec<Self> {
        let one =
            |at: &AtLoss<'f>| Self { receiver: at.receiver, backed: setup.is_backed(at), steps: steps(setup, at) };
        setup.at_loss().iter().map(one).collect()
    }
}

fn steps<'f>(setup: &Setup<'f>, at: &AtLoss<'f>) -> Vec<LossStep<'f>> {
    let mut steps = Vec::new();
    let action = at.plan.map(|plan| {
        steps.extend(plan.failsafe.hold_first.map(|first| LossStep::Repeats(first.value)));
        plan.action()
    });
    steps.push(match (action, at.plan) {
        (Some(FailsafeAction::OutputStops), _) => LossStep::Stops,
        (Some(FailsafeAction::Hold), _) => LossStep::RepeatsOn,
        (Some(FailsafeAction::Preset), Some(plan)) => LossStep::Gives(&plan.failsafe.preset),
        _ => LossStep::ReceiverOpen,
    });
    let Some(controller) = &setup.craft.controller else { return steps };
    let notices = match action {
        _ if at.flags_loss() == Some(true) => Some(true),
        Some(FailsafeAction::OutputStops) => Some(true),
        Some(FailsafeAction::Preset) => at.plan.and_then(|plan| plan.is_seen(controller)),
        Some(FailsafeAction::Hold) => at.flags_loss(),
        None => None,
    };
    steps.push(match (notices, controller.on_loss) {
        (Some(false), _) => LossStep::Unnoticed,
        (Some(true), Some(loss)) => LossStep::Controller(loss.action, loss.delay.map(|delay| delay.value)),
        _ => LossStep::ControllerOpen,
    });
    steps
}
