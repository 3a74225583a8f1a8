//! Models stored in a handset.

use super::condition::{Condition, ConditionKind, Name, Value, ValueKind};
use super::equipment::{Body, Head};
pub use super::inside::Inside;
use super::number::Decimal;
use super::words::Stick;
use crate::source::{Located, Span};

/// The transmit chains that a model uses.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SendOn {
    /// The chains, from 1.
    pub chains: Vec<u8>,
    /// One after the other instead of at once.
    pub in_turn: bool,
}

impl SendOn {
    /// How many chains send at the same time.
    pub fn at_once(&self) -> usize {
        if self.in_turn { 1 } else { self.chains.len() }
    }
}

/// What of the updates is given to telemetry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Telemetry {
    /// Nothing.
    Off,
    /// This share, in percent.
    Share(Decimal),
}

/// The settings of a module bay in a model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ModelModule {
    /// The header line.
    pub header: Span,
    /// The block, where there is one.
    pub body: Option<Body>,
    /// The bay's name.
    pub bay: Name,
    /// Where the word `off` stands.
    pub off: Option<Span>,
    /// The model's number.
    pub receiver_number: Option<Located<u16>>,
    /// Whether only receivers with this number are to answer.
    pub matching: Option<Located<bool>>,
    /// The chains that are used.
    pub send_on: Option<Located<SendOn>>,
    /// In hertz.
    pub update_rate: Option<Located<Decimal>>,
    /// The share for telemetry.
    pub telemetry: Option<Located<Telemetry>>,
    /// The power per chain in milliwatts, lowest and highest.
    pub power: Option<Located<(Decimal, Decimal)>>,
    /// The label of the binding key.
    pub key: Option<Name>,
}

/// Whether trims act.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trims {
    /// They do.
    On,
    /// They do not.
    Off,
    /// All but the throttle's do.
    ThrottleOff,
}

/// Handing functions over to a pupil.
#[derive(Clone, Debug, PartialEq)]
pub struct Trainer {
    /// The whole statement.
    pub span: Span,
    /// When, and which functions; `None`: off.
    pub hand_over: Option<(Condition, Vec<Name>)>,
    /// The model on the pupil's handset.
    pub from: Option<Name>,
}

/// What the handset asks for before the model starts.
#[derive(Clone, Debug, PartialEq)]
pub struct BeforeStart {
    /// The whole statement.
    pub span: Span,
    /// The control.
    pub control: Name,
    /// Its position; `low`, `centre` or `high` of a stick, knob or slider.
    pub position: Name,
}

/// A named condition.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedCondition {
    /// The whole statement.
    pub span: Span,
    /// Its name.
    pub name: Name,
    /// What it is.
    pub kind: NamedKind,
}

/// What a named condition is.
#[derive(Clone, Debug, PartialEq)]
pub enum NamedKind {
    /// It holds when this does.
    When(Condition),
    /// It holds from `set` to `reset`.
    Latch {
        /// Turns it on.
        set: Condition,
        /// Turns it off, and wins.
        reset: Condition,
    },
    /// It turns over each time a control comes to a position.
    Toggle {
        /// The button or switch.
        control: Name,
        /// Its position; not stated: pressed.
        position: Option<Name>,
    },
    /// It may be on or off at any time.
    Reported,
}

/// A value with a name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Mix {
    /// The header line.
    pub header: Span,
    /// The block, where there is one.
    pub body: Option<Body>,
    /// Its name.
    pub name: Name,
    /// Its value lines.
    pub lines: Vec<ValueLine>,
}

/// A curve.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Curve {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// Its name.
    pub name: Name,
    /// Its points in percent; the x rise.
    pub points: Vec<(Located<Decimal>, Decimal)>,
    /// Smooth between the points.
    pub rounded: bool,
}

/// The rates of a stick.
#[derive(Clone, Debug, PartialEq)]
pub struct StickRates {
    /// The header line.
    pub header: Span,
    /// The block.
    pub body: Body,
    /// The stick.
    pub stick: Located<Stick>,
    /// Its name on the handset that the rates are for.
    pub name: &'static str,
    /// Its lines.
    pub lines: Vec<RateLine>,
}

/// One line of rates.
#[derive(Clone, Debug, PartialEq)]
pub struct RateLine {
    /// The whole statement.
    pub span: Span,
    /// In percent.
    pub rate: Located<Decimal>,
    /// In percent, where stated.
    pub expo: Option<Located<Decimal>>,
    /// When it holds.
    pub when: Option<Condition>,
}

/// One value line of a channel or a mix.
#[derive(Clone, Debug, PartialEq)]
pub struct ValueLine {
    /// The whole statement; for `channel 1 = roll` the value.
    pub span: Span,
    /// The value.
    pub value: Value,
    /// When it holds.
    pub when: Option<Condition>,
}

/// A channel.
#[derive(Clone, Debug, PartialEq)]
pub struct Channel {
    /// The header line.
    pub header: Span,
    /// The block, where there is one.
    pub body: Option<Body>,
    /// Its number, from 1.
    pub number: Located<u8>,
    /// The pilot's word for it.
    pub label: Option<Name>,
    /// Its value lines.
    pub lines: Vec<ValueLine>,
    /// Where `reversed` stands.
    pub reversed: Option<Span>,
    /// In percent; the place is the whole statement, as it is for the next four.
    pub subtrim: Option<Located<Decimal>>,
    /// In percent: what -100 % and 100 % become.
    pub ends: Option<Located<(Decimal, Decimal)>>,
    /// In percent.
    pub travel: Option<Located<(Decimal, Decimal)>>,
    /// In microseconds.
    pub centre: Option<Located<Decimal>>,
    /// How fast it may follow.
    pub full_sweep: Option<Located<Sweep>>,
}

/// The time that a channel takes for its whole travel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sweep {
    /// In seconds, where the pulse rises.
    pub up: Decimal,
    /// In seconds, where it falls.
    pub down: Decimal,
}

/// What an alarm looks at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum AlarmKind {
    /// Link quality below so many percent.
    LinkQuality(Located<Decimal>),
    /// A signal below so many dBm.
    Signal(Located<Decimal>),
    /// A battery below so many volts.
    Battery {
        /// The voltage.
        voltage: Located<Decimal>,
        /// Of one cell rather than of the pack.
        per_cell: bool,
        /// Under load (`true`), rested (`false`), or not stated.
        under_load: Option<bool>,
    },
}

/// An alarm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Alarm {
    /// The whole statement.
    pub span: Span,
    /// What it looks at.
    pub kind: AlarmKind,
}

/// A timer.
#[derive(Clone, Debug, PartialEq)]
pub struct Timer {
    /// The whole statement.
    pub span: Span,
    /// In seconds.
    pub time: Located<Decimal>,
    /// While it runs.
    pub when: Option<Condition>,
}

/// A model. What nobody but itself needs to know of it is its [`Inside`], whose fields are at hand as if they were the model's
/// own.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Model {
    /// File, name and place.
    pub head: Head,
    /// The handset it is stored in.
    pub handset: Option<Name>,
    /// The aircraft it flies.
    pub flies: Vec<Name>,
    /// Its module bays.
    pub modules: Vec<ModelModule>,
    /// Stated: it is for a simulator.
    pub simulator: Option<Span>,
    /// A hash of everything that stands in its block, without layout and comments.
    pub digest: u64,
    /// The rest; `None` where nothing of it is known or stated.
    pub(super) inside: Option<Box<Inside>>,
}

impl Model {
    /// The channel with a number.
    pub fn channel(&self, number: u8) -> Option<&Channel> {
        self.channels.iter().find(|channel| channel.number.value == number)
    }

    /// The bays that are on.
    pub fn modules_on(&self) -> impl Iterator<Item = &ModelModule> {
        self.modules.iter().filter(|module| module.off.is_none())
    }

    /// The names of all controls that values, conditions and the start check of the model use.
    pub fn control_names(&self) -> Vec<&str> {
        let mut names: Vec<&str> = self.before_start.iter().map(|start| start.control.value.as_str()).collect();
        for value in self.value_lines().map(|line| &line.value) {
            value.walk(&mut |value| match &value.kind {
                ValueKind::Control(name) => names.push(name),
                ValueKind::Unshaped(name) => names.push(&name.value),
                _ => {}
            });
        }
        names.extend(self.conditions.iter().filter_map(|condition| match &condition.kind {
            NamedKind::Toggle { control, .. } => Some(control.value.as_str()),
            _ => None,
        }));
        for condition in self.all_conditions() {
            condition.walk(&mut |condition| match &condition.kind {
                ConditionKind::Position { control, .. } => names.push(&control.value),
                ConditionKind::Axis { axis, .. } => names.push(&axis.value),
                _ => {}
            });
        }
        names
    }

    /// Every condition that is written in the model, apart from its `expect` lines.
    pub fn all_conditions(&self) -> impl Iterator<Item = &Condition> {
        let lines = self.value_lines().filter_map(|line| line.when.as_ref());
        let rates = self.rates.iter().flat_map(|rates| &rates.lines).filter_map(|line| line.when.as_ref());
        let named = self.conditions.iter().flat_map(|condition| match &condition.kind {
            NamedKind::When(when) => [Some(when), None],
            NamedKind::Latch { set, reset } => [Some(set), Some(reset)],
            NamedKind::Toggle { .. } | NamedKind::Reported => [None, None],
        });
        let timers = self.timers.iter().filter_map(|timer| timer.when.as_ref());
        let trainer = self.trainer.iter().filter_map(|trainer| trainer.hand_over.as_ref()).map(|(when, _)| when);
        lines.chain(rates).chain(named.flatten()).chain(timers).chain(trainer)
    }

    /// The value lines of all mixes and channels.
    pub fn value_lines(&self) -> impl Iterator<Item = &ValueLine> {
        let mixes = self.mixes.iter().flat_map(|mix| &mix.lines);
        mixes.chain(self.channels.iter().flat_map(|channel| &channel.lines))
    }

    /// The mix with a name.
    pub fn mix(&self, name: &str) -> Option<&Mix> {
        self.mixes.iter().find(|mix| mix.name.value == name)
    }

    /// The named condition with a name.
    pub fn condition(&self, name: &str) -> Option<&NamedCondition> {
        self.conditions.iter().find(|condition| condition.name.value == name)
    }

    /// The curve with a name.
    pub fn curve(&self, name: &str) -> Option<&Curve> {
        self.curves.iter().find(|curve| curve.name.value == name)
    }
}
