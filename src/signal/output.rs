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
    /// `last` is the output made before, whose levels may serve again.
    pub(super) fn new(channel: &Channel, scale: Scale, last: Option<&Self>) -> Self {
        Self {
            reversed: channel.reversed,
            subtrim: Real::of(channel.subtrim),
            travel: (Real::of(channel.travel.0), Real::of(channel.travel.1)),
            centre: Real::of(channel.centre.unwrap_or(scale.centre)),
            factor: Real::of(scale.span).div(&Real::HUNDRED),
            levels: match channel.carriage {
                Carriage::Levels(n) => Some(match last.and_then(|last| last.levels.as_ref()) {
                    Some(levels) if levels.last == i64::from(n) - 1 => levels.clone(),
                    _ => Levels::new(scale, n),
                }),
                Carriage::Not | Carriage::Unchanged => None,
            },
        }
    }

    /// The pulse of a value in percent (DESIGN 4.7).
    pub(super) fn sent(&self, value: &Real) -> Real {
        self.small_sent(value).unwrap_or_else(|| self.any_sent(value))
    }

    /// The same where all of it stays small.
    fn small_sent(&self, value: &Real) -> Option<Real> {
        let (Real::Small(value), Real::Small(subtrim)) = (value, &self.subtrim) else { return None };
        let (Real::Small(low), Real::Small(high)) = (&self.travel.0, &self.travel.1) else { return None };
        let (Real::Small(centre), Real::Small(factor)) = (&self.centre, &self.factor) else { return None };
        let turned = if self.reversed { value.negate() } else { *value }.add(*subtrim)?;
        // As below.
        let clamped = if turned < *low { *low } else { turned.min(*high) };
        clamped.scaled(*factor, *centre).map(Real::Small)
    }

    fn any_sent(&self, value: &Real) -> Real {
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
    last: i64,
}

impl Levels {
    /// `n` levels, at least two.
    pub(super) fn new(scale: Scale, n: u32) -> Self {
        let span = Real::of(scale.span);
        let last = i64::from(n) - 1;
        let step = span.mul(&Real::whole(2)).div(&Real::whole(last));
        Self { lowest: Real::of(scale.centre).sub(&span), step, last }
    }

    /// The nearest level; a tie goes to the lower, beyond the ends the end (DESIGN 4.8).
    pub(super) fn nearest(&self, pulse: &Real) -> Real {
        if let (Real::Small(pulse), Real::Small(lowest), Real::Small(step)) = (pulse, &self.lowest, &self.step)
            && let Some(level) = pulse.nearest_step(*lowest, *step, self.last)
        {
            return Real::Small(level);
        }
        let place = pulse.sub(&self.lowest).div(&self.step);
        let index = place.sub(&Real::HALF).ceil().clamp(Real::ZERO, Real::whole(self.last));
        self.lowest.add(&self.step.mul(&index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::number::Number;
    use crate::signal::parts::Scale;

    /// DESIGN 4.7 in small fractions and without a bound on size.
    #[test]
    fn small_pulses_are_what_all_are() {
        let centres = [None, Some(Number::new(1520, 1)), Some(Number::new(9001, 6))];
        for (at, centre) in (-3..9).flat_map(|at| centres.map(|centre| (at, centre))) {
            let channel = Channel {
                reversed: at % 2 == 0,
                subtrim: Number::new(at, 3),
                travel: (Number::new(-20 * at - 50, 1), Number::new(115, 2)),
                centre,
                ..Channel::new(1, crate::signal::Value::percent(0))
            };
            let output =
                Output::new(&channel, Scale { centre: Number::new(1500, 1), span: Number::new(1024, 2) }, None);
            for value in [-400, -101, -57, 0, 13, 99, 350].map(|value| Real::of(Number::new(value, 4))) {
                assert_eq!(output.small_sent(&value), Some(output.any_sent(&value)), "{value:?} by {output:?}");
            }
        }
    }

    /// The lower of two levels at the same distance, else the nearer (DESIGN 4.8), by exact arithmetic alone, for pulses on,
    /// beside and far from every middle and end.
    #[test]
    fn the_quick_way_finds_the_level_that_exact_arithmetic_finds() {
        let scales = [(Number::new(4567, 3), Number::new(1234, 3)), (Number::new(1500, 1), Number::new(500, 1))];
        for (n, (centre, span)) in [2_i64, 3, 7, 64, 1001].into_iter().flat_map(|n| scales.map(|scale| (n, scale))) {
            let levels = Levels::new(Scale { centre, span }, n as u32);
            let level = |at: i64| centre - span + span * 2 * at / (n - 1);
            for at in (0..n - 1).step_by(1 + n as usize / 9) {
                let middle = (level(at) + level(at + 1)) / 2;
                for (off, found) in [(-1, at), (0, at), (1, at + 1)] {
                    for part in [1_i64 << 30, 100_000, 7] {
                        // A step of a level is over 2/5 us here, so none of these comes near the next middle.
                        let pulse = middle + Number::new(off, 8 * part);
                        assert_eq!(levels.nearest(&Real::of(pulse)), Real::of(level(found)), "{pulse} of {n}");
                    }
                }
            }
            for (pulse, end) in [(-900, 0), (9000, n - 1)] {
                assert_eq!(levels.nearest(&Real::whole(pulse)), Real::of(level(end)));
            }
        }
    }
}
