//! What of a model nobody but itself needs to know.

use super::craft::{Expect, Failsafe};
use super::model::{Alarm, BeforeStart, Channel, Curve, Mix, Model, NamedCondition, StickRates, Timer, Trainer, Trims};
use crate::source::Located;
use std::ops::{Deref, DerefMut};

/// The inside of a model.
#[derive(Clone, Debug, PartialEq)]
pub struct Inside {
    /// Whether the sticks are smoothed.
    pub stick_filter: Option<Located<bool>>,
    /// Whether trims act.
    pub trims: Option<Located<Trims>>,
    /// Handing over to a pupil.
    pub trainer: Option<Trainer>,
    /// What is asked for before it starts.
    pub before_start: Vec<BeforeStart>,
    /// Its named conditions.
    pub conditions: Vec<NamedCondition>,
    /// Its curves.
    pub curves: Vec<Curve>,
    /// Its mixes.
    pub mixes: Vec<Mix>,
    /// Its rates.
    pub rates: Vec<StickRates>,
    /// Its channels.
    pub channels: Vec<Channel>,
    /// What it tells the receiver to do when the link is lost.
    pub failsafe: Option<Failsafe>,
    /// Its alarms.
    pub alarms: Vec<Alarm>,
    /// Its timers.
    pub timers: Vec<Timer>,
    /// The pilot's own rules.
    pub expects: Vec<Expect>,
    /// Whether a trainer is meant.
    pub lesson: Option<Located<bool>>,
}

/// An inside of which nothing is known or stated.
static EMPTY: Inside = Inside::new();

impl Inside {
    const fn new() -> Self {
        Self {
            stick_filter: None,
            trims: None,
            trainer: None,
            before_start: Vec::new(),
            conditions: Vec::new(),
            curves: Vec::new(),
            mixes: Vec::new(),
            rates: Vec::new(),
            channels: Vec::new(),
            failsafe: None,
            alarms: Vec::new(),
            timers: Vec::new(),
            expects: Vec::new(),
            lesson: None,
        }
    }
}

impl Default for Inside {
    fn default() -> Self {
        Self::new()
    }
}

impl Deref for Model {
    type Target = Inside;

    fn deref(&self) -> &Inside {
        self.inside.as_deref().unwrap_or(&EMPTY)
    }
}

impl DerefMut for Model {
    fn deref_mut(&mut self) -> &mut Inside {
        self.inside.get_or_insert_default()
    }
}
