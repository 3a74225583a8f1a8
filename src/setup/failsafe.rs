//! The failsafe that acts when the link is lost: what is stored, and what the stored pulses do.

use super::signals::Signals;
use super::subject::Subject;
use crate::fleet::craft::{Controller, Craft, Failsafe, Mode, OnLoss, Outputs, PresetPulse, Receiver};
use crate::fleet::equipment::Head;
use crate::fleet::words::{CraftKind, FailsafeAction, LossAction, ModeKind, MotorKind};
use crate::signal::{Exact, Path};
use crate::source::{Place, Span};

/// The failsafe that acts: the receiver's where it states one, since the handset can't be heard then; else the one that
/// the model states.
#[derive(Clone, Copy, Debug)]
pub struct Plan<'p> {
    /// What is stated.
    pub failsafe: &'p Failsafe,
    /// The block in whose file it stands.
    pub head: &'p Head,
}

impl<'p> Plan<'p> {
    /// The failsafe of a subject with one of its receivers; none for a simulator.
    pub(super) fn of(subject: &Subject<'p>, receiver: Option<&'p Receiver>) -> Option<Self> {
        if subject.model.simulator.is_some() {
            return None;
        }
        let own = receiver.and_then(|receiver| receiver.failsafe.as_ref());
        let own = own.map(|failsafe| Self { failsafe, head: &subject.craft.head });
        own.or_else(|| Some(Self { failsafe: subject.model.failsafe.as_ref()?, head: &subject.model.head }))
    }

    /// What it does.
    pub fn action(&self) -> FailsafeAction {
        self.failsafe.action.value
    }

    /// Its header.
    pub fn place(&self) -> Place {
        self.head.place(self.failsafe.header)
    }

    /// The whole statement, with its block.
    pub fn whole(&self) -> Span {
        let header = self.failsafe.header;
        Span::new(header.start, self.failsafe.body.map_or(header.end, |body| body.whole.end))
    }

    /// What is stored for a channel.
    pub fn pulse(&self, channel: u8) -> Option<&'p PresetPulse> {
        self.failsafe.preset.iter().find(|pulse| pulse.channel.value == channel)
    }

    /// Whether some line of the preset could not be understood, so that a channel may be in it after all.
    pub fn is_partly_lost(&self) -> bool {
        self.head.lost_in(self.whole())
    }

    /// Whether the stored pulses turn a mode on; `None` where a channel that decides it is not in the preset.
    pub fn turns_on(&self, mode: &Mode) -> Option<bool> {
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
    pub fn brings_home(&self, controller: &Controller) -> Option<bool> {
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
}

/// What a controller does at a loss, where it does something.
pub fn acts(controller: &Controller) -> Option<OnLoss> {
    controller.on_loss.filter(|loss| loss.action != LossAction::Nothing)
}

/// Whether a receiver flags a lost link; `None` where that is not stated.
pub fn flags_loss(receiver: &Receiver) -> Option<bool> {
    Some(receiver.outputs?.value == Outputs::Serial { flags_loss: true })
}

/// Whether nothing drives the aircraft: a glider whose description has no motor.
pub fn is_motorless(craft: &Craft) -> bool {
    if let Some(motor) = craft.motor {
        return motor.value == MotorKind::None;
    }
    let glider = craft.kind.is_some_and(|kind| kind.value == CraftKind::Glider);
    glider && craft.controller.is_none() && craft.surfaces.as_ref().is_some_and(|surfaces| surfaces.motors.is_empty())
}

/// The pulse that the model sends on a channel at rest, with the throttle stick at its lowest. A preset does not travel over
/// the link, so no level of it counts.
pub fn rest_pulse(signals: &Signals, channel: u8) -> Option<Exact> {
    let program = signals.program();
    let reading = program.play(&Path::at(program.rest()));
    Some(reading.channel(u16::from(channel))?.sent.clone())
}
