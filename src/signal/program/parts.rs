//! What a program is made of: plain data that states one model and the one aircraft it flies. Only what is not known keeps
//! its place in the description.
//!
//! Percents and pulses are exact [`Rational64`]s. Everything refers to everything by index into [`Parts`].

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::reason::Unknown;
use compact_str::CompactString;
use std::borrow::Cow;

/// A control of the handset, by its index in [`Parts::controls`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ControlId(pub u16);

/// A named condition or latch, by its index in [`Parts::conditions`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ConditionId(pub u16);

/// A curve, by its index in [`Parts::curves`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct CurveId(pub u16);

/// A mode of the controller, by its index in [`Parts::modes`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct ModeId(pub u16);

/// Something that is not known, by its index in [`Parts::unknown`].
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub struct UnknownId(pub u16);

/// One model and one aircraft: all that the signal path needs to know.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Parts {
    /// Every control of the handset, whether the model uses it or not.
    pub controls: Vec<Control>,
    /// Curves that value lines name.
    pub curves: Vec<Curve>,
    /// Named conditions and latches.
    pub conditions: Vec<Named>,
    /// The channels that the model defines; numbers are unique, the order is free.
    pub channels: Vec<Channel>,
    /// What ±100 % gives.
    pub scale: Scale,
    /// The modes of the controller.
    pub modes: Vec<Mode>,
    /// What is not known.
    pub unknown: Vec<Unknown>,
    /// A channel that is not among the channels may still be defined, by what is not known; absent: it is not.
    pub elsewhere: Option<UnknownId>,
    /// The ranges of the trims are not stated: those of the sticks are the greatest there can be.
    pub trims_unstated: bool,
}

/// The handset's pulse scale: ±100 % is `centre` ± `span`.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Scale {
    /// The pulse of 0 %, in us.
    pub centre: Rational64,
    /// From 0 % to 100 %, in us; above 0.
    pub span: Rational64,
}

impl Default for Scale {
    /// 1500 us ± 500 us: the pulses that general servo libraries use (REFERENCES: convention, no standard).
    fn default() -> Self {
        Self { centre: whole(1500), span: whole(500) }
    }
}

/// A flight function: the letters A, E, T, R.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Function {
    /// A: aileron.
    Roll,
    /// E: elevator.
    Pitch,
    /// T.
    Throttle,
    /// R: rudder.
    Yaw,
}

/// A control with its name as the pilot writes it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Control {
    /// For display only.
    pub name: CompactString,
    /// What it is.
    pub kind: ControlKind,
}

/// The kinds of control.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum ControlKind {
    /// One of the four sticks: an axis −100..100 %, with rates and a trim.
    Stick {
        /// Which of the four.
        function: Function,
        /// The trim's range in ± percent; `None` where trims are off for this stick.
        trim: Option<Rational64>,
        /// The first rate whose condition holds shapes the stick; none: unshaped.
        rates: Vec<Rate>,
        /// It springs to its centre when it is let go: all do but a throttle that stays.
        sprung: bool,
    },
    /// A knob or slider: an axis −100..100 %.
    Axis {
        /// It springs to its low end when it is let go; others rest at their centre.
        sprung_to_low: bool,
    },
    /// A switch with two or more positions, evenly spaced values from −100 % (first) to 100 % (last).
    Switch {
        /// The names of the positions, 2 to 64 of them.
        positions: Cow<'static, [CompactString]>,
        /// The position it springs back to.
        sprung_to: Option<u8>,
    },
    /// Released (−100 %) or pressed (100 %).
    Button {
        /// It stays pressed until it is pressed again; others spring back to released.
        stays: bool,
    },
    /// What telemetry decides: off (−100 %) or on (100 %) at any time. No pilot moves it.
    Reported,
}

/// One rates line: y = rate · (expo·x³ + (1 − expo)·x).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rate {
    /// In percent.
    pub rate: Rational64,
    /// In percent, −50..100.
    pub expo: Rational64,
    /// Absent: always.
    pub when: Option<Condition>,
}

/// A curve through points whose x rise; constant outside them.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Curve {
    /// For display only.
    pub name: CompactString,
    /// `(x, y)` in percent; at least two.
    pub points: Vec<(Rational64, Rational64)>,
    /// Piecewise cubic (PCHIP) instead of linear.
    pub rounded: bool,
}

/// A named condition or a latch.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Named {
    /// For display only.
    pub name: CompactString,
    /// What it is.
    pub kind: NamedKind,
}

/// The kinds of named condition.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum NamedKind {
    /// True whenever the condition is.
    Plain(Condition),
    /// Remembers: L′ = not reset and (set or L), once per movement.
    Latch {
        /// Turns it on.
        set: Condition,
        /// Turns it off, and wins over `set`.
        reset: Condition,
    },
    /// Turns over whenever the condition is true: L′ = condition ≠ L, once per movement.
    Toggle(Condition),
}

/// A place a control can be in, as conditions name it.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Position {
    /// A switch's position, counted from 0; a button's 0 released, 1 pressed.
    Index(u8),
    /// An axis at or under −97 %, as in `throttle low`.
    Low,
    /// An axis from −3 to 3 %.
    Centre,
    /// An axis at or over 97 %.
    High,
}

/// What of a channel a condition looks at.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Measure {
    /// Its value before output, in percent.
    Percent,
    /// The pulse sent, before the link, in us.
    Sent,
    /// The pulse received, after the link, in us.
    Received,
}

/// One end of a range.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub struct Bound {
    /// Where it ends.
    pub at: Rational64,
    /// The end itself is outside.
    pub strict: bool,
}

/// A range, open where an end is absent.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug, Default)]
pub struct Bounds {
    /// The lower end.
    pub low: Option<Bound>,
    /// The upper end.
    pub high: Option<Bound>,
}

/// A condition, as a tree.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub enum Condition {
    /// Always or never.
    Constant(bool),
    /// The control is in this position.
    At(ControlId, Position),
    /// The movement just made brought the control there.
    Becomes(ControlId, Position),
    /// The raw value of an axis, in percent; a stick before rates and trim.
    Axis(ControlId, Bounds),
    /// A channel's number and what of it lies in the range. A pulse that is not known makes it not known.
    Channel(u16, Measure, Bounds),
    /// A mode is on, by pulses received (or, inside the handset, by pulses sent).
    Mode(ModeId, Measure),
    /// A named condition holds or a latch is on.
    Named(ConditionId),
    /// Not.
    Not(Box<Condition>),
    /// All of them; none: true.
    All(Vec<Condition>),
    /// One of them or more; none: false.
    Any(Vec<Condition>),
    /// Either, at any time: it is not known.
    Unknown(UnknownId),
    /// `held T E`: false when E is false, else either. The number (below 64) tells one such condition from another; equal
    /// ones share it.
    Held(u8, Box<Condition>),
}

/// A value in percent, as a tree.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Value {
    /// A constant in percent.
    Percent(Rational64),
    /// Anything, at any time: it is not known.
    Unknown(UnknownId),
    /// A control: a stick after rates and trim, an axis, a switch's or button's value.
    Control(ControlId),
    /// A stick before rates and trim.
    Unshaped(ControlId),
    /// Another channel's value before output, by number.
    Channel(u16),
    /// A curve of a value.
    Curve(CurveId, Box<Value>),
    /// The lesser.
    Min(Box<Value>, Box<Value>),
    /// The greater.
    Max(Box<Value>, Box<Value>),
    /// The sum.
    Add(Box<Value>, Box<Value>),
    /// The difference.
    Subtract(Box<Value>, Box<Value>),
    /// The product of percents: 50 % · 50 % = 25 %.
    Multiply(Box<Value>, Box<Value>),
    /// The negation.
    Negate(Box<Value>),
}

/// One value line of a channel.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Line {
    /// What the channel is while the line is chosen.
    pub value: Value,
    /// Absent: always.
    pub when: Option<Condition>,
}

/// A channel that the model defines, or a mix: a value that has a name and no pulse ([`Parts::MIXES`]).
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Channel {
    /// Its number, from 1; of a mix, above [`Parts::MIXES`].
    pub number: u16,
    /// For display only.
    pub name: CompactString,
    /// The first whose condition holds gives the value; none: 0 %.
    pub lines: Vec<Line>,
    /// Flips the sign.
    pub reversed: bool,
    /// Added after `reversed`, in percent.
    pub subtrim: Rational64,
    /// What −100 % and 100 % become after `subtrim`, each side of the centre by itself.
    pub ends: (Rational64, Rational64),
    /// Clamps after `ends`, in percent, lower end first.
    pub travel: (Rational64, Rational64),
    /// Replaces the scale's centre for this channel, in us.
    pub centre: Option<Rational64>,
    /// How the link carries it.
    pub carriage: Carriage,
}

/// How a link carries a channel.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Carriage {
    /// Not at all: the pulse received is not known.
    Not,
    /// Unchanged.
    Unchanged,
    /// In a way that is not known: the pulse received may be anything.
    Unknown(UnknownId),
    /// As the nearest of n values, n ≥ 2, evenly spaced over the scale's ±100 %; a tie goes to the lower.
    Levels(u32),
}

/// A mode of the controller: on when, of one of its lists, every channel's pulse lies in its range, ends included.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Mode {
    /// For display only.
    pub name: CompactString,
    /// Lists of channel number, lower end and upper end in us: all of one list are needed, and any list will do.
    pub any_of: Vec<Vec<(u16, Rational64, Rational64)>>,
    /// It may be on or off at any time: what its ranges are is not known.
    pub unknown: Option<UnknownId>,
}

/// How many positions a control has; `None` for an axis.
pub(in crate::signal) fn positions(kind: &ControlKind) -> Option<usize> {
    match kind {
        ControlKind::Stick { .. } | ControlKind::Axis { .. } => None,
        ControlKind::Switch { positions, .. } => Some(positions.len()),
        ControlKind::Button { .. } | ControlKind::Reported => Some(2),
    }
}

impl Parts {
    /// Above this number the channels are mixes: values with names, which no link carries.
    pub const MIXES: u16 = 1000;

    /// The number of the mix that stands at this place among the mixes.
    pub const fn mix(at: u16) -> u16 {
        Self::MIXES + 1 + at
    }
}

impl Channel {
    /// Whether it is a mix: it has a value, and no pulse.
    pub const fn is_mix(&self) -> bool {
        self.number > Parts::MIXES
    }
}

impl Position {
    /// The range of an axis, in percent, that counts as this position (DESIGN 4.1); `None` for the positions of a switch.
    pub fn range(self) -> Option<Bounds> {
        match self {
            Self::Index(_) => None,
            Self::Low => Some(Bounds::at_most(whole(-97))),
            Self::Centre => Some(Bounds::between(whole(-3), whole(3))),
            Self::High => Some(Bounds::at_least(whole(97))),
        }
    }
}
