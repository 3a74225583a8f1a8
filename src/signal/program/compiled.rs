//! A checked program: parts whose references, numbers and order of evaluation are sound.

use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::check::check;
use crate::signal::program::curve::Shape;
use crate::signal::program::output::Output;
use crate::signal::program::parts::*;
use crate::signal::program::reason::Flaw;
use crate::signal::program::state::{Setting, Stand};

/// A model and its aircraft, checked and ready to be evaluated.
#[derive(Clone, Debug)]
pub struct Compiled {
    pub(in crate::signal) parts: Parts,
    pub(in crate::signal) shapes: Vec<Shape>,
    /// One per channel.
    pub(in crate::signal) outputs: Vec<Output>,
    /// Where everything rests.
    pub(in crate::signal) rest: Stand,
}

impl Compiled {
    /// Checks parts and prepares them.
    ///
    /// # Errors
    /// Every [`Flaw`] found.
    pub(in crate::signal) fn new(parts: Parts) -> Result<Self, Vec<Flaw>> {
        let flaws = check(&parts);
        if !flaws.is_empty() {
            return Err(flaws);
        }
        let shapes = parts.curves.iter().map(Shape::new).collect();
        let mut outputs: Vec<Output> = Vec::with_capacity(parts.channels.len());
        for channel in &parts.channels {
            outputs.push(Output::new(channel, parts.scale, outputs.last()));
        }
        let rest = Stand {
            controls: parts.controls.iter().map(|c| rest(&c.kind)).collect(),
            trims: vec![whole(0); parts.controls.len()],
        };
        Ok(Self { parts, shapes, outputs, rest })
    }

    /// What it was made of.
    pub const fn parts(&self) -> &Parts {
        &self.parts
    }

    /// The channel of this number.
    pub fn channel(&self, number: u16) -> Option<&Channel> {
        self.parts.channels.iter().find(|c| c.number == number)
    }

    /// Where the channel of this number stands among the channels.
    pub(in crate::signal) fn channel_index(&self, number: u16) -> Option<usize> {
        self.parts.channels.iter().position(|c| c.number == number)
    }

    /// The stick of this function.
    pub fn stick(&self, function: Function) -> Option<ControlId> {
        self.controls()
            .find(|&(_, c)| matches!(c.kind, ControlKind::Stick { function: f, .. } if f == function))
            .map(|(id, _)| id)
    }

    /// Every control with its id.
    pub fn controls(&self) -> impl Iterator<Item = (ControlId, &Control)> {
        (0..).map(ControlId).zip(&self.parts.controls)
    }

    /// Where everything rests: sticks centred, a throttle that stays low, switches first or where they spring to, buttons
    /// released, knobs and trims centred or where they spring to, what telemetry tells off.
    pub fn rest(&self) -> Stand {
        self.rest.clone()
    }
}

/// Where a control rests.
fn rest(kind: &ControlKind) -> Setting {
    match kind {
        ControlKind::Stick { sprung: false, .. } | ControlKind::Axis { sprung_to_low: true } => {
            Setting::Percent(whole(-100))
        }
        ControlKind::Stick { .. } | ControlKind::Axis { .. } => Setting::Percent(whole(0)),
        ControlKind::Switch { sprung_to, .. } => Setting::Position(sprung_to.unwrap_or(0)),
        ControlKind::Button { .. } | ControlKind::Reported => Setting::Position(0),
    }
}

/// The value of position `at` of `n`: evenly spaced from −100 % to 100 % (DESIGN: controls). `n` is at least 2.
pub(in crate::signal) fn switch_value(at: u8, n: usize) -> Rational64 {
    let steps = i64::try_from(n).unwrap_or(2) - 1;
    Rational64::new(-100 * steps + 200 * i64::from(at), steps).unwrap_or(Rational64::ZERO)
}
