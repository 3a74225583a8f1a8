//! What a function's own stick moves, seen in a few states that are reached.

use super::channel_use::function;
use super::signals::Signals;
use crate::fleet::words::Stick;
use crate::signal::{ControlId, Exact, Handle, Mentions, Movement, Path, Setting, whole};

/// The most states in which both ends of a stick are looked at beforehand.
const MOST_STATES: usize = 16;

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

/// What was seen of a function's channel.
#[derive(Debug, Default)]
pub struct Seen {
    /// What the channel names.
    pub mentions: Mentions,
    /// Both ends of the stick: at rest first, then with a switch that the channel names elsewhere than at rest. Empty where
    /// nothing arrives; only at rest where the switches are many, and for the throttle no more than show that it moves.
    pub ends: Vec<Ends>,
}

impl Seen {
    /// Both ends with a switch in a position and everything else at rest, where that was looked at.
    pub fn with(&self, signals: &Signals, control: ControlId, position: u8) -> Option<&Ends> {
        let rest = signals.program().rests_at(Handle::Control(control)) == Some(Setting::Position(position));
        self.ends.iter().find(|ends| if rest { ends.at.is_none() } else { ends.at == Some((control, position)) })
    }
}

/// Looks at the channel from which a function is read.
pub(super) fn look(signals: &Signals, own: Stick, channel: u8) -> Option<Seen> {
    let program = signals.program();
    let mentions = program.mentions(u16::from(channel));
    let stick = signals.stick(function(own))?;
    let look = |at: Option<(ControlId, u8)>| {
        let switch = at.map(|(control, at)| (Handle::Control(control), Setting::Position(at)));
        // A latch asks for the switch to be moved.
        let end = switch.filter(|_| mentions.latches).map(|switch| {
            let movements = vec![Movement { sets: vec![switch], held: 0 }];
            program.end_of(&Path { movements, ..Path::at(program.rest()) })
        });
        let arrives = |percent: i64| {
            let own = (Handle::Control(stick), Setting::Percent(whole(percent)));
            let reading = match (&end, switch) {
                (Some(end), _) => end.read_moved(&[own], u16::from(channel)),
                (None, Some(switch)) => program.read_with(&[switch, own], u16::from(channel)),
                (None, None) => program.read_with(&[own], u16::from(channel)),
            };
            reading?.received
        };
        Some(Ends { at, low: arrives(-100)?, high: arrives(100)? })
    };
    let mut ends = Vec::from_iter(look(None));
    // Of the throttle it is enough to know that it moves.
    let is_enough = |ends: &[Ends]| own == Stick::Throttle && ends.iter().any(|ends| ends.low != ends.high);
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
