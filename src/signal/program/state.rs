//! Where the controls stand, how they are moved, and what can be read on the channels then.

use crate::signal::number::rational::Exact;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::parts::ControlId;

/// Where one control stands.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Setting {
    /// An axis or a trim, in percent.
    Percent(Rational64),
    /// A switch's position from 0; a button's 0 released, 1 pressed.
    Position(u8),
}

/// Something a pilot can move: a control, or the trim of a stick.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Handle {
    /// The control itself.
    Control(ControlId),
    /// The trim of this stick.
    Trim(ControlId),
}

/// Where everything stands.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Stand {
    /// One per control, in the order of the controls.
    pub controls: Vec<Setting>,
    /// In percent, one per control; 0 where there is no trim.
    pub trims: Vec<Rational64>,
}

impl Stand {
    /// Where a handle stands; `None` for a control that is not there.
    pub fn get(&self, handle: Handle) -> Option<Setting> {
        match handle {
            Handle::Control(id) => self.controls.get(usize::from(id.0)).copied(),
            Handle::Trim(id) => self.trims.get(usize::from(id.0)).map(|&t| Setting::Percent(t)),
        }
    }

    /// Puts a handle somewhere; nothing happens for a control that is not there.
    pub fn set(&mut self, handle: Handle, to: Setting) {
        match (handle, to) {
            (Handle::Control(id), to) => {
                if let Some(place) = self.controls.get_mut(usize::from(id.0)) {
                    *place = to;
                }
            }
            (Handle::Trim(id), Setting::Percent(to)) => {
                if let Some(place) = self.trims.get_mut(usize::from(id.0)) {
                    *place = to;
                }
            }
            (Handle::Trim(_), Setting::Position(_)) => {}
        }
    }

    /// Makes every setting of a movement.
    pub fn apply(&mut self, movement: &Movement) {
        for &(handle, to) in &movement.sets {
            self.set(handle, to);
        }
    }
}

/// One movement: usually of one control; several at once where one at a time would give something else.
#[derive(Clone, PartialEq, Eq, Hash, Debug, Default)]
pub struct Movement {
    /// What is moved where. Empty: nothing moves, and no control *becomes* anything.
    pub sets: Vec<(Handle, Setting)>,
    /// Which `held` conditions count as held then, by number, provided their condition holds.
    pub held: u64,
}

/// A start and the movements that follow.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
pub struct Path {
    /// Where everything stands when the handset is turned on.
    pub start: Stand,
    /// As [`Movement::held`], for the start.
    pub held: u64,
    /// In order.
    pub movements: Vec<Movement>,
}

impl Path {
    /// A start without movements.
    pub const fn at(start: Stand) -> Self {
        Self { start, held: 0, movements: Vec::new() }
    }

    /// The same path with one more movement of one control.
    pub fn then(mut self, control: ControlId, to: Setting) -> Self {
        self.movements.push(Movement { sets: vec![(Handle::Control(control), to)], held: 0 });
        self
    }

    /// Where everything stands at the end.
    pub fn end(&self) -> Stand {
        let mut stand = self.start.clone();
        for movement in &self.movements {
            stand.apply(movement);
        }
        stand
    }
}

/// What can be read after one movement (or at the start), exactly.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Reading {
    /// Where everything stands.
    pub stand: Stand,
    /// One per channel of the model whose value is known, in its order.
    pub channels: Vec<ChannelReading>,
    /// One per mix of the model, in its order: its value in percent; `None` where it is not known.
    pub mixes: Vec<Option<Exact>>,
    /// One per named condition: whether it holds, or the latch is on; `None` where that is not known.
    pub conditions: Vec<Option<bool>>,
    /// One per mode of the controller, by pulses received; `None` where a pulse is not known.
    pub modes: Vec<Option<bool>>,
}

impl Reading {
    /// The reading of a channel by number.
    pub fn channel(&self, number: u16) -> Option<&ChannelReading> {
        self.channels.iter().find(|c| c.number == number)
    }
}

/// What a channel reads.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ChannelReading {
    /// The channel's number.
    pub number: u16,
    /// Before output, in percent.
    pub percent: Exact,
    /// Before the link, in us.
    pub sent: Exact,
    /// After the link, in us; `None` where the link does not carry the channel.
    pub received: Option<Exact>,
    /// The index of the value line in force; `None` where none holds.
    pub line: Option<usize>,
}
