//! Questions about all reachable states, and their answers.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::parts::{Bounds, Condition, ControlId, Measure};
use crate::signal::program::reason::Unstated;
use crate::signal::program::state::{Handle, Movement, Path, Setting};
use crate::source::Place;
use std::fmt;

/// Is there a reachable state in which `state` holds, and from which each of `then`, on its own, is one movement away?
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Question {
    /// What must hold in the state.
    pub state: Condition,
    /// Movements out of that same state, each tried on its own (they do not follow each other).
    pub then: Vec<Step>,
    /// Handles that stand still or are kept to a range, in every state of the question (not on the way there).
    pub fixed: Vec<(Handle, Kept)>,
}

impl Question {
    /// Is there a reachable state in which this holds?
    pub const fn is(state: Condition) -> Self {
        Self { state, then: Vec::new(), fixed: Vec::new() }
    }

    /// Is there a reachable state in which the pulse received on a channel lies in the range?
    pub const fn received(channel: u16, bounds: Bounds) -> Self {
        Self::is(Condition::received(channel, bounds))
    }

    /// … and one movement of `who` leads to `reach`?
    pub fn then(mut self, who: Movers, reach: Condition) -> Self {
        self.then.push(Step { who, to: None, reach });
        self
    }

    /// … and the movement of this control to this setting leads to `reach`?
    pub fn then_to(mut self, control: ControlId, to: Setting, reach: Condition) -> Self {
        self.then.push(Step { who: Movers::These(vec![control]), to: Some(to), reach });
        self
    }

    /// The same question with a handle kept where it is said.
    pub fn keeping(mut self, handle: Handle, kept: Kept) -> Self {
        self.fixed.push((handle, kept));
        self
    }
}

/// One movement out of a state.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Step {
    /// Which control moves: one of these.
    pub who: Movers,
    /// Where to; anywhere if absent.
    pub to: Option<Setting>,
    /// What must hold after it.
    pub reach: Condition,
}

/// The controls of which one is moved, to anything.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Movers {
    /// One of these.
    These(Vec<ControlId>),
    /// Any control, sticks and trims too.
    Any,
    /// Any switch or button.
    SwitchesAndButtons,
    /// Any control but the four sticks and the trims.
    NotSticks,
}

/// Where a handle is kept.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Kept {
    /// Exactly here.
    At(Setting),
    /// An axis or trim within this range in percent, ends included.
    Within(Rational64, Rational64),
}

/// The answer to a question.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Answer {
    /// There is such a state; here is how to get there.
    Yes(Witness),
    /// There is none, proved.
    No(Proof),
    /// Neither was shown.
    NotDecided(Why),
}

impl Answer {
    /// The witness of a yes.
    pub const fn witness(&self) -> Option<&Witness> {
        match self {
            Self::Yes(witness) => Some(witness),
            Self::No(_) | Self::NotDecided(_) => None,
        }
    }

    /// Whether it is a proved no.
    pub const fn is_no(&self) -> bool {
        matches!(self, Self::No(_))
    }
}

/// How to get to the state that was asked for. [`super::Program::play`] reads every channel along the path.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Witness {
    /// The way to the state.
    pub path: Path,
    /// For each of the question's `then`: the movement out of that state.
    pub then: Vec<Movement>,
}

impl Witness {
    /// The path that ends with the movement for the question's `then` of this index.
    pub fn path_then(&self, index: usize) -> Path {
        let mut path = self.path.clone();
        path.movements.extend(self.then.get(index).cloned());
        path
    }

    /// Whether every trim stays centred.
    pub(in crate::signal) fn is_without_trims(&self) -> bool {
        let centred =
            |set: &(Handle, Setting)| matches!(set.0, Handle::Control(_)) || set.1 == Setting::Percent(whole(0));
        let mut movements = self.path.movements.iter().chain(&self.then);
        self.path.start.trims.iter().all(|trim| *trim == whole(0))
            && movements.all(|movement| movement.sets.iter().all(centred))
    }
}

/// What a proved no rests on.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Proof {
    /// How many regions of positions were looked at, those with much to work out counted several times; together they cover
    /// everything.
    pub regions: u64,
}

/// Why a question was not decided.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Why {
    /// The analysis budget ran out.
    Budget,
    /// A value that is not piecewise linear comes closer to a limit than 0.1 us (or 0.02 %), and neither side was shown.
    TooClose,
    /// The pulse on this channel is not known: the model does not define it, or the link does not carry it.
    NotKnown(u16),
    /// The states that latches can reach were found only approximately.
    History,
    /// A number comes up that is too large or too fine to compute with, or more latches than can be told apart.
    TooLarge,
    /// The question itself names what is not there, or is nested too deep.
    Malformed,
    /// It depends on what this place says, which was not understood.
    NotUnderstood(Place),
    /// It depends on what this place says, which passes a limit of this program; [`crate::signal::Parts::unknown`] tells
    /// which.
    BeyondLimits(Place),
    /// It depends on what the description does not state.
    NotStated(Unstated),
}

impl fmt::Display for Why {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Budget => out.write_str("the analysis budget ran out"),
            Self::TooClose => out.write_str("a curved value comes closer to a limit than can be told apart (0.1 us)"),
            Self::NotKnown(channel) => write!(out, "the pulse of channel {channel} is not known"),
            Self::History => out.write_str("what the latches remember could be found only roughly"),
            Self::TooLarge => out.write_str("a number comes up that is too fine, or there are too many latches"),
            Self::Malformed => out.write_str("the question names what is not there"),
            Self::NotUnderstood(_) => out.write_str("it depends on a line that was not understood"),
            Self::BeyondLimits(_) => out.write_str("what stands there passes a limit of this program"),
            Self::NotStated(what) => write!(out, "{} is not stated", what.words()),
        }
    }
}

/// Which states a range is taken over: all reachable ones in which the condition holds and the handles are kept.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Within {
    /// What must hold.
    pub given: Condition,
    /// Handles that stand still or are kept to a range.
    pub fixed: Vec<(Handle, Kept)>,
}

impl Default for Within {
    /// All reachable states.
    fn default() -> Self {
        Self { given: Condition::Constant(true), fixed: Vec::new() }
    }
}

/// What a channel reaches, over reachable states.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Range {
    /// Percent, us sent or us received.
    pub measure: Measure,
    /// The least; an end that only an open range approaches counts. Up to 0.1 us too low where a value is not piecewise linear.
    pub low: f64,
    /// The greatest, likewise.
    pub high: f64,
}

/// What a range was found to be.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Reach {
    /// From here to there.
    Range(Range),
    /// No reachable state satisfies the condition, proved.
    Nowhere,
    /// Not decided.
    NotDecided(Why),
}
