//! From a channel's value to the pulse sent, and from there to the pulse received, exactly.

use super::parts::{Carriage, Channel, Scale};
use super::real::Real;

/// What a channel does to its value.
#[derive(Clone, Debug)]
pub(super) struct Output {
    reversed: bool,
    subtrim: Real,
    travel: (Real, Real),
    centre: Real,
    /// Microseconds per percent.
    factor: Real,
    /// The levels of its link, where it has any.
    pub(super) levels: Option<Levels>,
}

impl Output {
    pub(super) fn new(channel: &Channel, scale: Scale) -> Self {
        Self {
            reversed: channel.reversed,
            subtrim: Real::of(channel.subtrim),
            travel: (Real::of(channel.travel.0), Real::of(channel.travel.1)),
            centre: Real::of(channel.centre.unwrap_or(scale.centre)),
            factor: Real::of(scale.span).div(&Real::HUNDRED),
            levels: match channel.carriage {
                Carriage::Levels(n) => Some(Levels::new(scale, n)),
                Carriage::Not | Carriage::Unchanged => None,
            },
        }
    }

    /// The pulse of a value in percent (DESIGN 4.7).
    pub(super) fn sent(&self, value: &Real) -> Real {
        let turned = if self.reversed { value.negate() } else { value.clone() }.add(&self.subtrim);
        let clamped = if turned < self.travel.0 {
            &self.travel.0
        } else if turned > self.travel.1 {
            &self.travel.1
        } else {
            &turned
        };
        self.centre.add(&self.factor.mul(clamped))
    }
}

/// Evenly spaced pulses over the scale's ±100 %.
#[derive(Clone, Debug)]
pub(super) struct Levels {
    lowest: Real,
    step: Real,
    /// Steps per microsecond.
    density: Real,
    last: Real,
}

impl Levels {
    /// `n` levels, at least two.
    pub(super) fn new(scale: Scale, n: u32) -> Self {
        let span = Real::of(scale.span);
        let (width, last) = (span.mul(&Real::whole(2)), Real::whole(i64::from(n) - 1));
        let lowest = Real::of(scale.centre).sub(&span);
        Self { lowest, step: width.div(&last), density: last.div(&width), last }
    }

    /// The nearest level; a tie goes to the lower, beyond the ends the end (DESIGN 4.8).
    pub(super) fn nearest(&self, pulse: &Real) -> Real {
        let place = pulse.sub(&self.lowest).mul(&self.density);
        let index = place.sub(&Real::HALF).ceil().clamp(Real::ZERO, self.last.clone());
        self.lowest.add(&self.step.mul(&index))
    }
}
