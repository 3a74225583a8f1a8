//! Everything that can keep a model from being evaluated, as a whole or in part, and the limits that this program sets.

use crate::signal::program::parts::{ConditionId, ControlId, CurveId, ModeId};
use crate::source::Place;
use compact_str::CompactString;

/// The most positions a switch may have.
pub const MOST_POSITIONS: usize = 64;
/// The most `held` conditions a program may tell apart.
pub const MOST_HELD: u8 = 64;
/// The most conditions, channels, curves or controls of one program.
pub const MOST_PARTS: usize = 1000;
/// How deep a condition or value may be nested.
pub const DEEPEST: usize = 128;
/// The longest chain of channels and conditions that are computed from one another.
pub const LONGEST_CHAIN: usize = 300;
/// How many levels of nesting may stand in such a chain, all together.
pub const MOST_LEVELS: usize = 1200;
/// The most factors in one product, constants among them: expo and rounded curves multiply up, a straight curve is one more.
pub const HIGHEST_DEGREE: usize = 81;

/// Why a model, or a part of it, can't be evaluated.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
pub enum Reason {
    /// The model names no handset, or one that is not there.
    #[error("the model's handset is not known")]
    NoHandset,
    /// The handset states no scale.
    #[error("the handset states no `scale`")]
    NoScale,
    /// A line of the handset that states its scale, or may state it, was not understood.
    #[error("the handset's `scale` was not understood")]
    ScaleNotUnderstood,
    /// The handset's scale spans nothing.
    #[error("the handset's `scale` spans 0 us: every position would give the same pulse")]
    FlatScale,
    /// There are too many parts of one kind.
    #[error("there are more than {MOST_PARTS} {0}")]
    TooManyParts(&'static str),
    /// A line was not understood, or lacks what it has to say: a channel without a value.
    #[error("this line was not understood")]
    Line,
    /// A control that the handset does not have.
    #[error("there is no control \"{0}\"")]
    NoControl(CompactString),
    /// A position that the control does not have.
    #[error("\"{0}\" is no position of that control")]
    NoPosition(CompactString),
    /// A condition that the model does not define.
    #[error("there is no condition \"{0}\"")]
    NoCondition(CompactString),
    /// A curve that the model does not define.
    #[error("there is no curve \"{0}\"")]
    NoCurve(CompactString),
    /// A mode that the aircraft's controller does not have.
    #[error("there is no mode \"{0}\"")]
    NoMode(CompactString),
    /// Something looks at a channel that the model does not define, or receives one that is not carried.
    #[error("channel {0} is looked at but has no value")]
    NoChannel(u16),
    /// Channels, conditions or latches that feed themselves.
    #[error("a loop of {} channels and conditions", .0.len())]
    Cycle(Vec<Fed>),
    /// Conditions or values in one another, too deep.
    #[error("more than {DEEPEST} levels of nesting")]
    TooDeep,
    /// Too many channels and conditions that are computed from one another.
    #[error(
        "more than {LONGEST_CHAIN} channels and conditions, or {MOST_LEVELS} levels in them, computed from one another"
    )]
    TooLong,
    /// Too much is multiplied with one another, or curved too often.
    #[error(
        "more than {HIGHEST_DEGREE} factors in one product; a curve counts as one, expo and rounded curves as three"
    )]
    TooManyFactors,
    /// Too many `held` conditions.
    #[error("more than {MOST_HELD} different `held` conditions")]
    TooManyHeld,
    /// A number of a description that is no [`crate::signal::Rational64`].
    #[error("a number too large or too fine to compute with")]
    Number,
    /// Parts that no description comes to: a reference that points nowhere, ends the wrong way round.
    #[error("parts that contradict themselves: {0}")]
    Malformed(&'static str),
}

impl Reason {
    /// Whether it is a limit of this program, and not a fault of the description that its reader tells.
    pub const fn is_limit(&self) -> bool {
        match self {
            Self::TooManyParts(_)
            | Self::TooDeep
            | Self::TooLong
            | Self::TooManyFactors
            | Self::TooManyHeld
            | Self::Number
            | Self::Malformed(_) => true,
            Self::NoHandset
            | Self::NoScale
            | Self::ScaleNotUnderstood
            | Self::FlatScale
            | Self::Line
            | Self::NoControl(_)
            | Self::NoPosition(_)
            | Self::NoCondition(_)
            | Self::NoCurve(_)
            | Self::NoMode(_)
            | Self::NoChannel(_)
            | Self::Cycle(_) => false,
        }
    }
}

/// Something that others are computed from.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Fed {
    /// A channel, by number.
    Channel(u16),
    /// A named condition or latch.
    Condition(ConditionId),
}

/// The part of a program that a reason is about.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Part {
    /// All of it.
    Whole,
    /// A control, with the rates of a stick.
    Control(ControlId),
    /// A curve.
    Curve(CurveId),
    /// A named condition or latch.
    Condition(ConditionId),
    /// A channel, by number.
    Channel(u16),
    /// A mode of the controller.
    Mode(ModeId),
}

/// What makes parts unfit to be a program.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{reason}")]
pub struct Flaw {
    /// Why.
    pub reason: Reason,
    /// What it is about.
    pub part: Part,
}

/// Why there is no program at all for a description.
#[derive(Clone, PartialEq, Eq, Debug, thiserror::Error)]
#[error("{reason}")]
pub struct Refused {
    /// Why.
    pub reason: Reason,
    /// The line that causes it, or the header of what lacks it.
    pub place: Place,
}

/// Something that is not known, so that nothing is said about what depends on it.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Unknown {
    /// What this place says can't be understood, or can't be computed with.
    NotUnderstood(Place, Reason),
    /// The description does not state it.
    NotStated(Unstated),
}

/// What a description may leave out, and what a proof then may not rest on.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Unstated {
    /// Over which link the pulses go.
    Link,
    /// How far trims can move their sticks.
    TrimRange,
}

impl Unstated {
    /// What would have to be stated, in the words of the language.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Link => "the link of the receiver",
            Self::TrimRange => "the handset's `trim-range`",
        }
    }
}
