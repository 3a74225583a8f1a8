//! Positions of switches that keep a motor still.

use crate::signal::{Condition, ControlId, Position};

/// A switch or button of which some positions keep a motor idle, whatever else is moved, and others let it run.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Stop {
    /// The switch.
    pub control: ControlId,
    /// The positions that keep it idle.
    pub stops: Vec<u8>,
    /// The others.
    pub lets: Vec<u8>,
}

impl Stop {
    /// The switch is in one of the positions that keep the motor idle.
    pub fn is_on(&self) -> Condition {
        Condition::Any(self.stops.iter().map(|&at| Condition::At(self.control, Position::Index(at))).collect())
    }

    /// Whether this one and another can keep their motors idle at the same time.
    pub fn agrees_with(&self, other: &Self) -> bool {
        self.control != other.control || self.stops.iter().any(|position| other.stops.contains(position))
    }
}

/// A position of a switch that is meant to keep a helicopter's motor still while the collective lives.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Hold {
    /// The switch.
    pub control: ControlId,
    /// The position.
    pub position: u8,
    /// Whether the motor can't run there.
    pub stops: bool,
}

impl Hold {
    /// The switch is there.
    pub fn is_on(&self) -> Condition {
        Condition::At(self.control, Position::Index(self.position))
    }
}
