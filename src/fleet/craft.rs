//! Aircraft and what is built into them.

use super::condition::{Condition, Name};
use super::equipment::{Body, Head};
use super::number::Decimal;
use super::words::{
    CraftKind, ExpectKind, ExpectSeverity, FailsafeAction, LossAction, ModeKind, MotorKind, Side, Stick,
};
use crate::source::{Located, Span};

/// What happens when the link is lost: an optional hold first, then the action.
#[derive(Clone, Debug, PartialEq)]
pub struct Failsafe {
    /// The header line.
    pub header: Span,
    /// The preset's block.
    pub body: Option<Body>,
    /// Seconds for which the last pulses are held first.
    pub hold_first: Option<Located<Decimal>>,
    /// What is done then.
    pub action: Located<FailsafeAction>,
    /// The pulses of a preset, in microseconds.
    pub preset: Vec<PresetPulse>,
}

/// One channel of a preset.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PresetPulse {
    /// The whole statement.
    pub span: Span,
    /// The channel.
    pub channel: Located<u8>,
    /// Its pulse, in microseconds.
    pub pulse: Located<Decimal>,
}

/// The number of a receiver.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReceiverNumber {
    /// It is not locked to a model.
    Any,
    /// It is locked to this number.
    Locked(u16),
}

/// How a receiver hands the channels on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outputs {
    /// As serial data.
    Serial {
        /// Whether it flags a lost link.
        flags_loss: bool,
    },
    /// As pulses.
    Pulses,
}

/// A receiver.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Receiver {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// Its name, where the craft has more than one.
    pub name: Option<Name>,
    /// The link it speaks.
    pub link: Option<Name>,
    /// How many receive chains it has.
    pub chains: Option<Located<u8>>,
    /// The number it is locked to.
    pub number: Option<Located<ReceiverNumber>>,
    /// The label of its binding key.
    pub key: Option<Name>,
    /// The version of its firmware.
    pub firmware: Option<Name>,
    /// The regulatory domain it was built for.
    pub domain: Option<Name>,
    /// In dBi.
    pub antenna_gain: Option<Located<Decimal>>,
    /// How it hands the channels on.
    pub outputs: Option<Located<Outputs>>,
    /// What it does when the link is lost.
    pub failsafe: Option<Failsafe>,
}

/// How a controller is armed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Arm {
    /// By a switch, with the needs that are stated; a need that is not stated is not known.
    Switch {
        /// It needs a low throttle.
        low_throttle: bool,
        /// It needs to have seen the switch off.
        seen_off: bool,
    },
    /// By a position of the sticks.
    Sticks,
}

/// A mode of a controller.
#[derive(Clone, Debug, PartialEq)]
pub struct Mode {
    /// The whole statement.
    pub span: Span,
    /// Its name; `arm` is the request to arm.
    pub name: Name,
    /// The pulses in microseconds that turn it on, ends included; all of them are needed.
    pub tests: Vec<ModeTest>,
    /// What it is for.
    pub kind: Option<Located<ModeKind>>,
    /// A mode that must not be on at the same time.
    pub excludes: Option<Name>,
}

/// One channel that a mode looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModeTest {
    /// The channel.
    pub channel: Located<u8>,
    /// The pulses, in microseconds.
    pub range: Located<(Decimal, Decimal)>,
}

/// What a controller does when the link is lost.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OnLoss {
    /// The whole statement.
    pub span: Span,
    /// What it does.
    pub action: LossAction,
    /// After how many seconds.
    pub delay: Option<Located<Decimal>>,
}

/// A flight controller.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Controller {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// The functions of channels 1 to 4.
    pub order: Option<Located<[Stick; 4]>>,
    /// In microseconds.
    pub idle_below: Option<Located<Decimal>>,
    /// In microseconds.
    pub full_above: Option<Located<Decimal>>,
    /// In microseconds.
    pub deadband: Option<Located<Decimal>>,
    /// The pulses that count as a signal, in microseconds.
    pub valid: Option<Located<(Decimal, Decimal)>>,
    /// How it is armed.
    pub arm: Option<Located<Arm>>,
    /// Its modes.
    pub modes: Vec<Mode>,
    /// What it does when the link is lost.
    pub on_loss: Option<OnLoss>,
    /// Expo of its own, in percent.
    pub expo: Vec<(Located<Stick>, Located<Decimal>)>,
    /// Functions that it reads the other way round; the places are the whole statements.
    pub reversed: Vec<Located<Stick>>,
    /// Whether it arms with the throttle up.
    pub arm_any_throttle: Option<Located<bool>>,
    /// Stated: it may refuse to stop aloft.
    pub refuses_stop_aloft: Option<Span>,
    /// Whether it has a position sensor.
    pub position: Option<Located<bool>>,
    /// Stated: the pilot accepts a fall.
    pub fall_accepted: Option<Span>,
}

impl Controller {
    /// The mode with a name.
    pub fn mode(&self, name: &str) -> Option<&Mode> {
        self.modes.iter().find(|mode| mode.name.value == name)
    }

    /// The mode that is the request to arm.
    pub fn arm_mode(&self) -> Option<&Mode> {
        self.mode("arm")
    }

    /// The channel that a function is read from, by `order`.
    pub fn channel_of(&self, stick: Stick) -> Option<u8> {
        let at = self.order.as_ref()?.value.iter().position(|&function| function == stick)?;
        Some(at as u8 + 1)
    }
}

/// A channel of an aircraft without a flight controller.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// The whole statement.
    pub span: Span,
    /// The channel.
    pub channel: Located<u8>,
    /// What it moves.
    pub functions: Vec<Name>,
    /// The side it is on.
    pub side: Option<Located<Side>>,
}

/// A motor's channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// The whole statement.
    pub span: Span,
    /// The channel.
    pub channel: Located<u8>,
    /// In microseconds.
    pub idle_below: Option<Located<Decimal>>,
    /// In microseconds.
    pub full_above: Option<Located<Decimal>>,
    /// Whether it can run backwards.
    pub reversible: bool,
}

/// What the channels move.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Surfaces {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// The surfaces.
    pub channels: Vec<Surface>,
    /// The motors.
    pub motors: Vec<Motor>,
}

/// A flight battery.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CraftBattery {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// Its chemistry.
    pub chemistry: Name,
    /// Cells in series.
    pub cells: Option<Located<u8>>,
    /// In ampere-hours.
    pub capacity: Option<Located<Decimal>>,
    /// The average current in flight, in amperes.
    pub draw: Option<Located<Decimal>>,
}

/// A rule of the pilot's own.
#[derive(Clone, Debug, PartialEq)]
pub struct Expect {
    /// The whole statement.
    pub span: Span,
    /// The severity that the line states.
    pub severity: Option<ExpectSeverity>,
    /// What is expected.
    pub kind: ExpectKind,
    /// Of what.
    pub condition: Condition,
}

/// An aircraft.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Craft {
    /// File, name and place.
    pub head: Head,
    /// What sort it is.
    pub kind: Option<Located<CraftKind>>,
    /// Its receivers.
    pub receivers: Vec<Receiver>,
    /// Its flight controller.
    pub controller: Option<Controller>,
    /// Its surfaces.
    pub surfaces: Option<Surfaces>,
    /// Its battery.
    pub battery: Option<CraftBattery>,
    /// What drives it.
    pub motor: Option<Located<MotorKind>>,
    /// In grams.
    pub weight: Option<Located<Decimal>>,
    /// Where it is flown.
    pub flown_at: Option<Name>,
    /// The pilot's own rules.
    pub expects: Vec<Expect>,
}
