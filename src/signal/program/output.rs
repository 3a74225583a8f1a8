//! From a channel's value to the pulse sent, and from there to the pulse received, exactly.

use crate::signal::number::rational::Rational;
use crate::signal::number::rational64::{Rational64, whole};
use crate::signal::program::parts::{Carriage, Channel, Scale};

/// What a channel does to its value.
#[derive(Clone, Debug)]
pub(in crate::signal) struct Output {
    reversed: bool,
    subtrim: Rational,
    /// What 1 % becomes, below and above the centre; `None`: itself.
    ends: Option<(Rational, Rational)>,
    travel: (Rational, Rational),
    centre: Rational,
    /// Microseconds per percent.
    factor: Rational,
    /// The levels of its link, where it has any.
    pub(in crate::signal) levels: Option<Levels>,
}

impl Output {
    /// `last` is the output made before, whose levels may serve again.
    pub(in crate::signal) fn new(channel: &Channel, scale: Scale, last: Option<&Self>) -> Self {
        Self {
            reversed: channel.reversed,
            subtrim: Rational::of(channel.subtrim),
            ends: (channel.ends != (whole(-100), whole(100))).then(|| {
                let share = |end: Rational64| Rational::of(end).div(&Rational::HUNDRED);
                (share(channel.ends.0).negate(), share(channel.ends.1))
            }),
            travel: (Rational::of(channel.travel.0), Rational::of(channel.travel.1)),
            centre: Rational::of(channel.centre.unwrap_or(scale.centre)),
            factor: Rational::of(scale.span).div(&Rational::HUNDRED),
            levels: match channel.carriage {
                Carriage::Levels(n) => Some(match last.and_then(|last| last.levels.as_ref()) {
                    Some(levels) if levels.last == i64::from(n) - 1 => levels.clone(),
                    _ => Levels::new(scale, n),
                }),
                Carriage::Not | Carriage::Unchanged | Carriage::Unknown(_) => None,
            },
        }
    }

    /// The pulse of a value in percent (DESIGN 4.7).
    pub(in crate::signal) fn sent(&self, value: &Rational) -> Rational {
        self.small_sent(value).unwrap_or_else(|| self.any_sent(value))
    }

    /// The same where all of it stays small.
    fn small_sent(&self, value: &Rational) -> Option<Rational> {
        let (Rational::Small(value), Rational::Small(subtrim)) = (value, &self.subtrim) else { return None };
        if self.ends.is_some() {
            return None;
        }
        let (Rational::Small(low), Rational::Small(high)) = (&self.travel.0, &self.travel.1) else { return None };
        let (Rational::Small(centre), Rational::Small(factor)) = (&self.centre, &self.factor) else { return None };
        let turned = if self.reversed { value.negate() } else { *value }.add(*subtrim)?;
        // As below.
        let clamped = if turned < *low { *low } else { turned.min(*high) };
        clamped.scaled(*factor, *centre).map(Rational::Small)
    }

    fn any_sent(&self, value: &Rational) -> Rational {
        let turned = if self.reversed { value.negate() } else { value.clone() }.add(&self.subtrim);
        let turned = match &self.ends {
            Some((low, high)) => turned.mul(if turned < Rational::ZERO { low } else { high }),
            None => turned,
        };
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
pub(in crate::signal) struct Levels {
    lowest: Rational,
    step: Rational,
    last: i64,
}

impl Levels {
    /// `n` levels, at least two.
    pub(in crate::signal) fn new(scale: Scale, n: u32) -> Self {
        let span = Rational::of(scale.span);
        let last = i64::from(n) - 1;
        let step = span.mul(&Rational::whole(2)).div(&Rational::whole(last));
        Self { lowest: Rational::of(scale.centre).sub(&span), step, last }
    }

    /// The nearest level; a tie goes to the lower, beyond the ends the end (DESIGN 4.8).
    pub(in crate::signal) fn nearest(&self, pulse: &Rational) -> Rational {
        if let (Rational::Small(pulse), Rational::Small(lowest), Rational::Small(step)) =
            (pulse, &self.lowest, &self.step)
            && let Some(level) = pulse.nearest_step(*lowest, *step, self.last)
        {
            return Rational::Small(level);
        }
        let place = pulse.sub(&self.lowest).div(&self.step);
        let index = place.sub(&Rational::HALF).ceil().clamp(Rational::ZERO, Rational::whole(self.last));
        self.lowest.add(&self.step.mul(&index))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::number::rational64::Rational64;
    use crate::signal::program::parts::Scale;

    /// DESIGN 4.7 in small fractions and without a bound on size.
    #[test]
    fn small_pulses_are_what_all_are() {
        let centres = [None, Some(Rational64::new(1512, 1).unwrap()), Some(Rational64::new(9001, 6).unwrap())];
        for (at, centre) in (-3..9).flat_map(|at| centres.map(|centre| (at, centre))) {
            let channel = Channel {
                reversed: at % 2 == 0,
                subtrim: Rational64::new(at, 3).unwrap(),
                travel: (Rational64::new(-20 * at - 50, 1).unwrap(), Rational64::new(115, 2).unwrap()),
                centre,
                ..Channel::new(1, crate::signal::Value::percent(0))
            };
            let output = Output::new(
                &channel,
                Scale { centre: Rational64::new(1500, 1).unwrap(), span: Rational64::new(1024, 2).unwrap() },
                None,
            );
            for value in [-400, -101, -57, 0, 13, 99, 350].map(|value| Rational::of(Rational64::new(value, 4).unwrap()))
            {
                assert_eq!(output.small_sent(&value), Some(output.any_sent(&value)), "{value:?} by {output:?}");
            }
        }
    }

    /// The lower of two levels at the same distance, else the nearer (DESIGN 4.8), by exact arithmetic alone, for pulses on,
    /// beside and far from every middle and end.
    #[test]
    fn the_quick_way_finds_the_level_that_exact_arithmetic_finds() {
        let scales = [
            (Rational64::new(4567, 3).unwrap(), Rational64::new(1234, 3).unwrap()),
            (Rational64::new(1500, 1).unwrap(), Rational64::new(500, 1).unwrap()),
        ];
        for (n, (centre, span)) in [2_i64, 3, 7, 64, 1001].into_iter().flat_map(|n| scales.map(|scale| (n, scale))) {
            let levels = Levels::new(Scale { centre, span }, n as u32);
            let (centre, span) = (Rational::of(centre), Rational::of(span));
            let share = |at: i64| Rational::of(Rational64::new(2 * at, n - 1).unwrap());
            let level = |at: i64| centre.sub(&span).add(&span.mul(&share(at)));
            for at in (0..n - 1).step_by(1 + n as usize / 9) {
                let middle = level(at).add(&level(at + 1)).mul(&Rational::HALF);
                for (off, found) in [(-1, at), (0, at), (1, at + 1)] {
                    for part in [1_i64 << 30, 100_000, 7] {
                        // A step of a level is over 2/5 us here, so none of these comes near the next middle.
                        let pulse = middle.add(&Rational::of(Rational64::new(off, 8 * part).unwrap()));
                        assert_eq!(levels.nearest(&pulse), level(found), "{pulse:?} of {n}");
                    }
                }
            }
            for (pulse, end) in [(-900, 0), (9000, n - 1)] {
                assert_eq!(levels.nearest(&Rational::whole(pulse)), level(end));
            }
        }
    }
}
