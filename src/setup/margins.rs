//! Pulses that read close to an edge of a mode's range, and those that the link has to round to one of two levels.

use super::channel_use::is_bare;
use super::signals::{Signals, above, below, float};
use super::subject::{Subject, around, exactly, number};
use super::terms::switches_of;
use crate::fleet::Decimal;
use crate::fleet::craft::ModeTest;
use crate::fleet::model::{Channel, Model};
use crate::signal::{
    Bound, Bounds, Carriage, ControlId, Exact, Handle, Path, Range, Rational64, Scale, Setting, exact, whole,
};
use crate::source::Located;
use num_traits::ToPrimitive;

/// What counts as near an edge of the range of a mode's test.
#[derive(Clone, Copy, Debug)]
pub struct NearEdge {
    /// The edge, in microseconds.
    pub edge: Decimal,
    /// Whether it is the upper one.
    pub upper: bool,
    /// The pulses near it.
    pub near: Bounds,
    low: Rational64,
    high: Rational64,
}

impl NearEdge {
    /// Both edges of a test, with the pulses less than `margin` microseconds away.
    pub fn of(test: &ModeTest, margin: Decimal) -> [Self; 2] {
        let (low, high) = test.range.value;
        [(low, false), (high, true)].map(|(edge, upper)| {
            let [low, high] = around(edge, margin);
            let bound = |at| Some(Bound { at, strict: true });
            Self { edge, upper, near: Bounds { low: bound(low), high: bound(high) }, low, high }
        })
    }

    /// Whether a pulse is near it.
    pub fn holds(&self, pulse: &Exact) -> bool {
        exact(self.low) < *pulse && *pulse < exact(self.high)
    }

    /// The range of a test with this edge half-way between a pulse and the next one on the other side of the edge; 50 us
    /// beyond the pulse where there is none (common practice, no source). It is written as a range of the language. `None` where
    /// no position was seen outside of the range: a mode that is always on is not mended by a wider range.
    pub fn moved(&self, test: &ModeTest, signals: &Signals, movers: &[ControlId], pulse: &Exact) -> Option<String> {
        let channel = u16::from(test.channel.value);
        let mut pulses = Vec::new();
        for &control in movers {
            for position in 0..signals.positions(control) {
                let stand = signals.start(&[(control, Setting::Position(position))]);
                let reading = signals.program().play(&Path::at(stand));
                pulses.extend(reading.channel(channel).and_then(|seen| seen.received.as_ref()).map(float));
            }
        }
        let pulse = float(pulse);
        let (low, high) = test.range.value;
        let is_in = |pulse: f64| low.to_f64() <= pulse && pulse <= high.to_f64();
        let inside = is_in(pulse);
        if pulses.iter().copied().chain([pulse]).all(is_in) {
            return None;
        }
        // A pulse inside an upper edge, or outside a lower one, needs the edge above it.
        let above = self.upper == inside;
        let next = match above {
            true => pulses.iter().copied().filter(|other| *other > pulse + 1.0).fold(f64::INFINITY, f64::min),
            false => pulses.iter().copied().filter(|other| *other < pulse - 1.0).fold(f64::NEG_INFINITY, f64::max),
        };
        let edge = match (next.is_finite(), above) {
            (true, _) => (pulse + next) / 2.0,
            (false, true) => pulse + 50.0,
            (false, false) => pulse - 50.0,
        };
        Some(match self.upper {
            true => format!("{low}..{} us", edge.round() as i64),
            false => format!("{}..{high} us", edge.round() as i64),
        })
    }
}

/// The pulses between two neighbouring levels of the link of which exactly one lies in the range of a mode's test: more than
/// a quarter step from both.
#[derive(Clone, Copy, Debug)]
pub struct Between {
    /// The pulses.
    pub pulses: Bounds,
}

impl Between {
    /// All of them for a test; none where the link does not carry its channel with levels.
    pub fn of(test: &ModeTest, signals: &Signals) -> Vec<Self> {
        let program = signals.program();
        let carriage = program.channel(u16::from(test.channel.value)).map(|channel| channel.carriage);
        let Some(Carriage::Levels(levels)) = carriage else { return Vec::new() };
        zones(program.parts().scale, levels, test.range.value.0, test.range.value.1)
    }
}

fn zones(scale: Scale, levels: u32, low: Decimal, high: Decimal) -> Vec<Between> {
    let steps = i64::from(levels) - 1;
    let (centre, span) = (exact(scale.centre), exact(scale.span));
    let (lowest, half_steps) = (centre.minus(&span), exact(whole(steps * 2)));
    // The pulse so many quarter steps above the lowest level.
    let at = |quarters: i64| lowest.plus(&span.times(&exact(whole(quarters))).over(&half_steps));
    let range = exactly(low)..=exactly(high);
    let inside = |index: i64| range.contains(&at(index * 4));
    let zone = |index: i64| {
        let bound = |quarters| Some(Bound { at: at(quarters).rounded(), strict: true });
        Between { pulses: Bounds { low: bound(index * 4 + 1), high: bound(index * 4 + 3) } }
    };
    (0..steps).filter(|&index| inside(index) != inside(index + 1)).map(zone).collect()
}

/// A range for a mode at the upper end of what a channel reaches, with room on both sides (common practice, no source).
pub fn reachable_range(range: &Range) -> (i64, i64) {
    ((range.high - 150.0).round() as i64, (range.high + 50.0).round() as i64)
}

/// Two neighbouring positions of a switch that are sent apart and arrive as one.
#[derive(Clone, Debug)]
pub struct Collapsed {
    /// The switch.
    pub control: ControlId,
    /// The first of the positions; the other comes next.
    pub position: u8,
    /// What is sent in both.
    pub sent: [Exact; 2],
    /// What arrives.
    pub received: Exact,
    /// How many levels the link keeps there.
    pub levels: u32,
}

impl Collapsed {
    /// The first such positions of each switch in a channel's values; none where the link does not carry it with levels.
    pub fn of(model: &Model, signals: &Signals, channel: &Channel) -> Vec<Self> {
        let number = u16::from(channel.number.value);
        let carriage = signals.program().channel(number).map(|known| known.carriage);
        let Some(Carriage::Levels(levels)) = carriage else { return Vec::new() };
        let read = |control, position| {
            let set = (Handle::Control(control), Setting::Position(position));
            let reading = signals.program().read_with(&[set], number)?;
            Some((reading.sent, reading.received?))
        };
        let collapsed = switches_of(model, signals, channel).into_iter().filter_map(|control| {
            let count = signals.positions(control);
            // A switch as it is has its positions a level apart or more where the link has as many levels.
            if u32::from(count) <= levels && is_bare(model, channel) {
                return None;
            }
            let mut before = read(control, 0);
            (1..count).find_map(|next| {
                let (first, second) = (std::mem::replace(&mut before, read(control, next))?, before.clone()?);
                let same = first.1 == second.1 && first.0 != second.0;
                let sent = [first.0, second.0];
                same.then_some(Self { control, position: next - 1, sent, received: first.1, levels })
            })
        });
        collapsed.collect()
    }
}

/// The pulses that a controller takes for a signal, beside those that a channel's travel lets through.
#[derive(Clone, Copy, Debug)]
pub struct ValidPulses {
    /// The pulses, in microseconds, as the controller's description states them.
    pub valid: Located<(Decimal, Decimal)>,
    centre: Decimal,
    span: Decimal,
    travel: (Decimal, Decimal),
}

impl ValidPulses {
    /// Those of a channel; `None` where the pulses or the handset's scale are not stated.
    pub fn of(subject: &Subject<'_>, channel: &Channel) -> Option<Self> {
        let valid = subject.craft.controller.as_ref()?.valid?;
        let (centre, span) = subject.handset?.scale.as_ref()?.value;
        let centre = channel.centre.map_or(centre, |centre| centre.value);
        let travel = channel.travel.map_or((Decimal::whole(-100), Decimal::whole(100)), |travel| travel.value);
        Some(Self { valid, centre, span, travel })
    }

    /// Whether the travel lets through no others.
    pub fn hold_travel(&self) -> bool {
        // The pulse at a share of the travel beside another. Both are times a hundred, so that nothing is divided.
        let beside = |percent: Decimal, pulse: Decimal| {
            let moved = exactly(self.span).times(&exactly(percent));
            moved.cmp(&exactly(pulse).minus(&exactly(self.centre)).times(&exact(whole(100))))
        };
        beside(self.travel.0, self.valid.value.0).is_ge() && beside(self.travel.1, self.valid.value.1).is_le()
    }

    /// The pulses on either side of them.
    pub fn outside(&self) -> [Bounds; 2] {
        [below(number(self.valid.value.0)), above(number(self.valid.value.1))]
    }

    /// The widest travel within the channel's that lets only them through, in whole percent. `None` where the scale has no width.
    pub fn travel(&self) -> Option<(Decimal, Decimal)> {
        if self.span.mantissa() == 0 {
            return None;
        }
        let fits = |pulse: Decimal| {
            let share = exactly(pulse).minus(&exactly(self.centre)).over(&exactly(self.span));
            share.times(&exact(whole(100))).to_i64().map(Decimal::whole)
        };
        Some((fits(self.valid.value.0)?.max(self.travel.0), fits(self.valid.value.1)?.min(self.travel.1)))
    }
}
