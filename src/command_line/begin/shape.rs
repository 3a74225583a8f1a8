//! What each kind of aircraft is written as, and what that needs.

use super::folder::{Carrier, Desk};
use crate::fleet::words::{CraftKind, Grip};

/// What a kind of aircraft is written as.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Shape {
    /// A flight controller moves it.
    Controlled,
    /// The receiver moves roll, pitch, yaw and a motor.
    Surfaces,
    /// The receiver moves two elevons and a motor.
    Elevons,
    /// The receiver moves roll, pitch and yaw; there is no motor.
    Glider,
    /// The receiver moves a rotor head, a tail rotor and a motor.
    Helicopter,
    /// The receiver steers it and drives a motor.
    Steered,
    /// The receiver drives two tracks, which also steer it.
    Tracks,
}

/// A channel of a link that tells apart fewer levels moves a surface in steps that can be seen.
pub(super) const FINE: u32 = 50;

impl Shape {
    /// What a kind is written as.
    pub(super) const fn of(kind: CraftKind) -> Self {
        match kind {
            CraftKind::Multirotor | CraftKind::Vtol => Self::Controlled,
            CraftKind::Aeroplane | CraftKind::Autogyro => Self::Surfaces,
            CraftKind::FlyingWing => Self::Elevons,
            CraftKind::Glider => Self::Glider,
            CraftKind::Helicopter => Self::Helicopter,
            CraftKind::Car | CraftKind::Boat | CraftKind::Hovercraft => Self::Steered,
            CraftKind::Tracked => Self::Tracks,
        }
    }

    /// Whether a switch has to stop a motor.
    pub(super) const fn has_motor(self) -> bool {
        !matches!(self, Self::Glider)
    }

    /// Whether a flight controller moves it.
    pub(super) const fn has_controller(self) -> bool {
        matches!(self, Self::Controlled)
    }

    /// Whether a handset that is there has what such an aircraft needs.
    pub(super) fn suits(self, desk: &Desk) -> bool {
        let grip = desk.grip == Grip::Sticks || matches!(self, Self::Steered | Self::Tracks);
        let switch = !self.has_motor() || desk.stopper().is_some();
        grip && switch && desk.bays.iter().any(|bay| self.suits_link(desk.grip, &bay.link))
    }

    /// Whether a link carries the channels that such an aircraft needs.
    pub(super) fn suits_link(self, grip: Grip, link: &Carrier) -> bool {
        let last = if grip == Grip::Pistol { 2 } else { 4 };
        let beside = match self {
            Self::Controlled => link.beside(2, 0).is_some(),
            Self::Helicopter => link.beside(FINE, 0).is_some(),
            _ => true,
        };
        beside && (1..=last).all(|channel| link.carries(channel, FINE))
    }

    /// What is missing where no handset suits, in words.
    pub(super) fn wants(self) -> String {
        let sticks = match self {
            Self::Steered | Self::Tracks => "sticks, or a wheel and a trigger",
            _ => "sticks",
        };
        let switch = if self.has_motor() { ", a switch with two positions that stays where it is put" } else { "" };
        let channels = match self {
            Self::Controlled => "a channel beside the sticks' four",
            Self::Helicopter => "a channel for the collective beside the sticks' four, which is more than on or off",
            _ => "the sticks' channels",
        };
        format!(
            "no handset here has what it needs: {sticks}{switch} and a link that carries {channels}; answer another kind, or describe such a handset in the folder first"
        )
    }
}
