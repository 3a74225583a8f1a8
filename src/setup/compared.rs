//! What a strange model would do with an aircraft, and what comparisons found, kept from run to run.

use super::witness::Witness;
use crate::fleet::equipment::Head;
use crate::fleet::words::{Grip, Stick};
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::sync::Mutex;

/// What a model that was not made for an aircraft would do with it.
#[derive(Clone, Debug)]
pub enum Wrong {
    /// A stick would move another function.
    Crossed {
        /// The stick, on a handset that is held so.
        stick: (Grip, Stick),
        /// The function that is not its own.
        function: Stick,
        /// The channel where that is read.
        channel: u8,
    },
    /// Without a flight controller: a surface or motor would follow other sticks than it should.
    Follows {
        /// The channel.
        channel: u8,
        /// What a surface there does; none for a motor.
        functions: Vec<CompactString>,
        /// What it would follow.
        sticks: Vec<(Grip, Stick)>,
    },
    /// A position that is off for this aircraft would ask to arm.
    Arms {
        /// The control.
        control: CompactString,
        /// Its position.
        position: CompactString,
        /// A state under the strange model that shows it.
        witness: Box<Witness>,
    },
    /// Without a flight controller: a motor would run where it stands still under the aircraft's own model.
    Lifts {
        /// The channel of the motor.
        channel: u8,
        /// The switch that keeps it still and its position; none where the throttle does.
        stopped_by: Option<(CompactString, CompactString)>,
        /// How the handset is held.
        grip: Grip,
        /// A state under the strange model that shows it.
        witness: Box<Witness>,
    },
    /// This channel would carry something else.
    Channel(u8),
    /// Conditions or controls would work otherwise.
    Conditions,
    /// Nothing that the signal path shows.
    Alike,
    /// It was not decided.
    Open,
}

impl Wrong {
    /// Whether somebody can be hurt: what the pilot takes for off asks to arm or lifts a motor, or a stick moves what it should not.
    pub fn is_dangerous(&self) -> bool {
        matches!(self, Self::Crossed { .. } | Self::Follows { .. } | Self::Arms { .. } | Self::Lifts { .. })
    }

    /// A state that shows it.
    pub fn witness(&self) -> Option<&Witness> {
        match self {
            Self::Arms { witness, .. } | Self::Lifts { witness, .. } => Some(witness),
            _ => None,
        }
    }
}

/// What was found about a strange model, an aircraft's own, and the aircraft, by the places of their headers; until one of the
/// three is another, or what it hangs on.
#[derive(Debug, Default)]
pub struct Compared(Mutex<FxHashMap<[Place; 3], Wrong>>);

/// More comparisons than this are forgotten all at once.
const MOST_COMPARED: usize = 1 << 16;

impl Compared {
    /// What is known of three blocks, or else what is found now.
    pub fn of(&self, heads: [&Head; 3], compare: impl FnOnce() -> Wrong) -> Wrong {
        let places = heads.map(|head| head.place(head.header));
        let known = self.0.lock().ok().and_then(|known| known.get(&places).cloned());
        known.unwrap_or_else(|| {
            let found = compare();
            if let Ok(mut known) = self.0.lock() {
                if known.len() >= MOST_COMPARED {
                    known.clear();
                }
                known.insert(places, found.clone());
            }
            found
        })
    }

    /// Forgets what is about a block that became another, given by the place of its header.
    pub fn forget(&self, is_other: &dyn Fn(Place) -> bool) {
        if let Ok(mut known) = self.0.lock() {
            known.retain(|places, _| !places.iter().any(|place| is_other(*place)));
        }
    }
}
