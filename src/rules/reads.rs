//! What an aircraft reads from its channels, found once for all rules.

use super::channels::{Sticks, function, sticks};
use super::signals::Signals;
use super::subject::Pair;
use crate::fleet::condition::Name;
use crate::fleet::model::Channel;
use crate::fleet::words::{CraftKind, Stick};
use crate::signal::{ControlId, Exact, Handle, Mentions, Setting, whole};
use std::cell::OnceCell;
use std::fmt;

/// The most states in which both ends of a stick are looked at beforehand.
const MOST_STATES: usize = 16;

/// What is kept of a pair.
#[derive(Debug)]
pub struct Read<'f> {
    flights: Vec<Flight<'f>>,
    used: Vec<(u8, What<'f>, bool)>,
}

/// What a channel is for.
#[derive(Clone, Copy, Debug)]
pub enum What<'f> {
    /// A function that the controller reads.
    Function(Stick),
    /// A mode of the controller.
    Mode(&'f str),
    /// What a surface does.
    Surface(&'f [Name]),
    /// It drives a motor.
    Motor,
}

impl fmt::Display for What<'_> {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Function(stick) => to.write_str(stick.word()),
            Self::Mode(name) => write!(to, "mode {name}"),
            Self::Surface(names) => {
                for (at, name) in names.iter().enumerate() {
                    write!(to, "{}{}", if at == 0 { "" } else { " + " }, name.value)?;
                }
                Ok(())
            }
            Self::Motor => to.write_str("a motor"),
        }
    }
}

impl<'f> Pair<'f> {
    /// The functions that the controller reads from channels 1 to 4; none without a stated order.
    pub fn functions(&self) -> impl Iterator<Item = (Stick, u8)> + use<> {
        let order = self.craft.controller.as_ref().and_then(|controller| controller.order);
        order.map(|order| order.value).into_iter().flatten().zip(1..)
    }

    /// The same with what is known of their channels.
    pub fn flights(&self) -> &[Flight<'f>] {
        &self.read().flights
    }

    /// Whether a multirotor's flight controller reads this channel as a flight function.
    pub fn is_flight(&self, channel: u8) -> bool {
        self.is(CraftKind::Multirotor) && self.functions().any(|(_, known)| known == channel)
    }

    /// The channels that the aircraft reads, each with what it is for and whether the aircraft can't fly without it.
    pub fn used(&self) -> impl Iterator<Item = (u8, What<'f>, bool)> {
        self.read().used.iter().copied()
    }

    fn read(&self) -> &Read<'f> {
        self.read.get_or_init(|| {
            let flights = self.functions().map(|(function, channel)| Flight::new(self, function, channel)).collect();
            Read { flights, used: self.list_used() }
        })
    }

    fn list_used(&self) -> Vec<(u8, What<'f>, bool)> {
        let mut used: Vec<(u8, What<'f>, bool)> = Vec::new();
        let mut add = |channel: u8, what: What<'f>, vital: bool| {
            if !used.iter().any(|(known, ..)| *known == channel) {
                used.push((channel, what, vital));
            }
        };
        for (stick, channel) in self.functions() {
            add(channel, What::Function(stick), true);
        }
        for mode in self.craft.controller.iter().flat_map(|controller| &controller.modes) {
            let arm = mode.name.value == "arm";
            for test in &mode.tests {
                add(test.channel.value, What::Mode(&mode.name.value), arm);
            }
        }
        for surface in self.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels) {
            let vital = surface.functions.iter().any(|name| Stick::find(&name.value).is_some());
            add(surface.channel.value, What::Surface(&surface.functions), vital);
        }
        for motor in self.craft.surfaces.iter().flat_map(|surfaces| &surfaces.motors) {
            add(motor.channel.value, What::Motor, true);
        }
        used
    }
}

/// A function that the controller reads from a channel.
#[derive(Debug)]
pub struct Flight<'f> {
    /// The function.
    pub function: Stick,
    /// The channel that it is read from.
    pub channel: u8,
    /// That channel, where the model defines it.
    pub known: Option<&'f Channel>,
    /// The sticks that stand in its values.
    pub sticks: Sticks,
    seen: OnceCell<Seen>,
}

/// Both ends of a function's own stick, in states that are reached.
#[derive(Debug)]
pub struct Ends {
    /// The control that stands there, with everything else at rest; `None`: all is at rest.
    pub at: Option<(ControlId, u8)>,
    /// What arrives with the stick at -100 %.
    pub low: Exact,
    /// What arrives with the stick at 100 %.
    pub high: Exact,
}

impl Ends {
    /// The lesser of both.
    pub fn least(&self) -> &Exact {
        (&self.low).min(&self.high)
    }

    /// The greater of both.
    pub fn greatest(&self) -> &Exact {
        (&self.low).max(&self.high)
    }
}

/// What was seen of a flight's channel.
#[derive(Debug, Default)]
pub struct Seen {
    /// What the channel names.
    pub mentions: Mentions,
    /// Both ends of the stick: at rest first, then with a switch that the channel names elsewhere than at rest. Empty where
    /// nothing arrives; only at rest where the switches are many, and for the throttle no more than show that it moves.
    pub ends: Vec<Ends>,
}

impl<'f> Flight<'f> {
    /// A function of a pair.
    pub(super) fn new(pair: &Pair<'f>, function: Stick, channel: u8) -> Self {
        let sticks = sticks(pair.model, channel);
        Self { function, channel, known: pair.model.channel(channel), sticks, seen: OnceCell::new() }
    }

    /// The stick that moves this function, where it is one that belongs to another; `channels/order` speaks of it.
    pub fn crossed(&self) -> Option<Stick> {
        match *self.sticks {
            [one] if one != self.function => Some(one),
            _ => None,
        }
    }

    /// What is seen of the channel without a question.
    pub fn seen(&self, signals: &Signals) -> &Seen {
        self.seen.get_or_init(|| self.look(signals).unwrap_or_default())
    }

    fn look(&self, signals: &Signals) -> Option<Seen> {
        let program = signals.program();
        let mentions = program.mentions(u16::from(self.channel));
        let stick = signals.stick(function(self.function))?;
        let look = |at: Option<(ControlId, u8)>| {
            let arrives = |percent: i64| {
                let own = (Handle::Control(stick), Setting::Percent(whole(percent)));
                let reading = match at.map(|(control, at)| [(Handle::Control(control), Setting::Position(at)), own]) {
                    // A latch asks for the switch to be moved.
                    Some(sets) if mentions.latches => program.read_after(&sets, u16::from(self.channel)),
                    Some(sets) => program.read_with(&sets, u16::from(self.channel)),
                    None => program.read_with(&[own], u16::from(self.channel)),
                };
                reading?.received
            };
            Some(Ends { at, low: arrives(-100)?, high: arrives(100)? })
        };
        let mut ends = Vec::from_iter(look(None));
        // Of the throttle it is enough to know that it moves.
        let is_enough =
            |ends: &[Ends]| self.function == Stick::Throttle && ends.iter().any(|ends| ends.low != ends.high);
        let states = mentions.controls.iter().map(|&control| usize::from(signals.positions(control))).sum::<usize>();
        if ends.is_empty() || states > MOST_STATES {
            return Some(Seen { mentions, ends });
        }
        for &control in &mentions.controls {
            let rest = program.rests_at(Handle::Control(control));
            for at in (0..signals.positions(control)).filter(|&at| rest != Some(Setting::Position(at))) {
                if is_enough(&ends) {
                    return Some(Seen { mentions, ends });
                }
                ends.extend(look(Some((control, at))));
            }
        }
        Some(Seen { mentions, ends })
    }
}

impl Seen {
    /// Both ends with a switch in a position and everything else at rest, where that was looked at.
    pub fn with(&self, signals: &Signals, control: ControlId, position: u8) -> Option<&Ends> {
        let rest = signals.program().rests_at(Handle::Control(control)) == Some(Setting::Position(position));
        self.ends.iter().find(|ends| if rest { ends.at.is_none() } else { ends.at == Some((control, position)) })
    }
}
