//! Aircraft and what is built into them.

use super::condition::{Condition, Name};
use super::day::Day;
use super::equipment::{Body, Head};
use super::number::Decimal;
use super::words::{
    CraftKind, ExpectKind, ExpectSeverity, FailsafeAction, Feeds, LossAction, ModeKind, MotorKind, Side, Stick, Tail,
    Tested, Way,
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
    /// The channels that its outputs reach, as ranges; absent: all.
    pub drives: Option<Located<Vec<(u8, u8)>>>,
    /// What it does when the link is lost.
    pub failsafe: Option<Failsafe>,
}

impl Receiver {
    /// Whether its outputs reach a channel.
    pub fn drives(&self, channel: u8) -> bool {
        let reach =
            |ranges: &Located<Vec<(u8, u8)>>| ranges.value.iter().any(|&(low, high)| (low..=high).contains(&channel));
        self.drives.as_ref().is_none_or(reach)
    }
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
    /// The pulses that turn it on: any of these will do, and each needs all of its own.
    pub any_of: Vec<Vec<ModeTest>>,
    /// What it is for.
    pub kind: Option<Located<ModeKind>>,
    /// A mode that must not be on at the same time.
    pub excludes: Option<Name>,
}

impl Mode {
    /// Each channel that it looks at, with the pulses, in the order in which they are written.
    pub fn tests(&self) -> impl Iterator<Item = &ModeTest> {
        self.any_of.iter().flatten()
    }

    /// The channels that it looks at, each once.
    pub fn channels(&self) -> Vec<u8> {
        let mut channels = Vec::new();
        for test in self.tests() {
            if !channels.contains(&test.channel.value) {
                channels.push(test.channel.value);
            }
        }
        channels
    }
}

/// One channel that a mode looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ModeTest {
    /// The channel.
    pub channel: Located<u8>,
    /// The pulses, in microseconds, ends included.
    pub range: Located<(Decimal, Decimal)>,
}

impl ModeTest {
    /// Whether a pulse lies in the range.
    pub fn has(&self, pulse: Decimal) -> bool {
        self.range.value.0 <= pulse && pulse <= self.range.value.1
    }
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

/// A function that a controller reads from a channel of its own.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    /// The whole statement.
    pub span: Span,
    /// What is read.
    pub function: Name,
    /// From where.
    pub channel: Located<u8>,
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
    /// Functions that it reads from channels that are stated one by one.
    pub reads: Vec<Read>,
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

    /// The channel that a function is read from.
    pub fn channel_of(&self, stick: Stick) -> Option<u8> {
        self.functions().find(|(function, _)| *function == stick).map(|(_, channel)| channel)
    }

    /// The functions of the four sticks with the channels that they are read from: those of `order` first.
    pub fn functions(&self) -> impl Iterator<Item = (Stick, u8)> {
        let order = self.order.map(|order| order.value).into_iter().flatten().zip(1..);
        let reads = self.reads.iter();
        order.chain(reads.filter_map(|read| Some((Stick::find(&read.function.value)?, read.channel.value))))
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
    /// Which way it moves when the pulse rises.
    pub high_is: Option<Located<Way>>,
}

impl Surface {
    /// Whether it has a function.
    pub fn has(&self, function: &str) -> bool {
        self.functions.iter().any(|name| name.value == function)
    }

    /// Whether it is a winch that lets out as its pulse rises.
    pub fn lets_out_high(&self) -> bool {
        self.has("winch") && self.high_is.is_some_and(|way| way.value == Way::Open)
    }

    /// Whether it brakes in the air.
    pub fn is_air_brake(&self) -> bool {
        self.has("brake") && !self.is_wheel_brake()
    }

    /// Whether it brakes wheels, or a shaft: such a brake is on or off, and one in the air goes up, down or open.
    pub fn is_wheel_brake(&self) -> bool {
        self.has("brake") && self.high_is.is_some_and(|way| way.value == Way::On)
    }
}

/// The pulses at which a motor stands still, in microseconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Idle {
    /// Those below this one.
    Below(Decimal),
    /// Those above this one.
    Above(Decimal),
    /// Those between two, which are among them.
    Within(Decimal, Decimal),
}

impl Idle {
    /// Whether a motor stands still at a pulse.
    pub fn has(self, pulse: Decimal) -> bool {
        match self {
            Self::Below(edge) => pulse < edge,
            Self::Above(edge) => pulse > edge,
            Self::Within(low, high) => low <= pulse && pulse <= high,
        }
    }
}

/// A motor's channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Motor {
    /// The whole statement.
    pub span: Span,
    /// The channel.
    pub channel: Located<u8>,
    /// The side it is on.
    pub side: Option<Located<Side>>,
    /// Where it stands still.
    pub idle: Option<Located<Idle>>,
    /// The pulse from which on it runs at full power, away from where it stands still, in microseconds.
    pub full: Option<Located<Decimal>>,
    /// Whether it can run backwards.
    pub reversible: bool,
}

impl Motor {
    /// Whether it can run backwards: that is stated, or it stands still in the middle of its range.
    pub fn runs_both_ways(&self) -> bool {
        self.reversible || matches!(self.idle.map(|idle| idle.value), Some(Idle::Within(..)))
    }
}

/// A channel that switches an ignition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ignition {
    /// The whole statement.
    pub span: Span,
    /// The channel.
    pub channel: Located<u8>,
    /// Whether pulses above the stated one turn it on; else those below.
    pub on_above: bool,
    /// In microseconds.
    pub pulse: Located<Decimal>,
}

impl Ignition {
    /// Whether a pulse turns it on.
    pub fn is_on(&self, pulse: Decimal) -> bool {
        if self.on_above { pulse > self.pulse.value } else { pulse < self.pulse.value }
    }
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
    /// What switches the ignition.
    pub ignitions: Vec<Ignition>,
    /// The shape of a tail of two surfaces.
    pub tail: Option<Located<Tail>>,
    /// Stated: the elevator is in front of the wing.
    pub canard: Option<Span>,
}

/// A battery of an aircraft.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct CraftBattery {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// What it feeds, where that is stated.
    pub feeds: Option<Located<Feeds>>,
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

/// What the pilot saw work on the aircraft itself.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Test {
    /// The whole statement.
    pub span: Span,
    /// What.
    pub what: Tested,
    /// When.
    pub day: Located<Day>,
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
    /// Stated: of several receivers the one that hears the handset drives the channels they share.
    pub combined: Option<Span>,
    /// Its batteries.
    pub batteries: Vec<CraftBattery>,
    /// What receiver and servos are fed with, in volts.
    pub supply: Option<Located<Decimal>>,
    /// What they are made for, in volts.
    pub servo_voltage: Option<Located<(Decimal, Decimal)>>,
    /// What drives it.
    pub motor: Option<Located<MotorKind>>,
    /// In grams.
    pub weight: Option<Located<Decimal>>,
    /// How high its antenna is above the ground or the water, in metres.
    pub height: Option<Located<Decimal>>,
    /// What the pilot saw work.
    pub tested: Vec<Test>,
    /// Where it is flown.
    pub flown_at: Option<Name>,
    /// The pilot's own rules.
    pub expects: Vec<Expect>,
}

impl Craft {
    /// Whether it is stated to be of a kind that does not leave the ground or the water.
    pub fn stays_down(&self) -> bool {
        self.kind.is_some_and(|kind| kind.value.stays_down())
    }

    /// The battery that it flies on: the one that is stated to feed the motor, or of which it is not said what it feeds.
    pub fn flight_battery(&self) -> Option<&CraftBattery> {
        let feeds = |battery: &&CraftBattery| battery.feeds.is_none_or(|feeds| feeds.value != Feeds::Receiver);
        self.batteries.iter().find(feeds)
    }

    /// The battery that an alarm or a timer of its model is about: the one that it flies on, else the receiver's own.
    pub fn watched_battery(&self) -> Option<&CraftBattery> {
        self.flight_battery().or_else(|| self.receiver_battery())
    }

    /// The battery of its own that feeds the receiver, where one is stated to.
    pub fn receiver_battery(&self) -> Option<&CraftBattery> {
        let feeds = |battery: &&CraftBattery| battery.feeds.is_some_and(|feeds| feeds.value == Feeds::Receiver);
        self.batteries.iter().find(feeds)
    }
}
