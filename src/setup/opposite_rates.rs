//! A switch with which the rates of two sticks go opposite ways.

use super::signals::Signals;
use super::subject::Subject;
use super::terms::hangs_on;
use crate::fleet::model::{RateLine, StickRates};
use crate::signal::{ControlId, Path, Setting};

/// A difference of two rates that counts, in percent (common practice, no source).
const RATES_DIFFER: f64 = 10.0;

/// A rate is a low one where it leaves this part of the high one at least (common practice, no source).
const LEAVES: f64 = 0.25;

/// A switch with which the rates of two sticks go opposite ways.
#[derive(Clone, Copy, Debug)]
pub struct OppositeRates<'f> {
    /// The switch, and two of its positions.
    pub control: ControlId,
    /// Those positions.
    pub at: [u8; 2],
    /// Both sticks, each with its line in either position.
    pub sticks: [(&'f StickRates, [&'f RateLine; 2]); 2],
}

/// The first switch of which one position gives one of two sticks less and the other more than another position does.
pub fn opposite_rates<'f>(subject: &Subject<'f>, signals: &Signals) -> Option<OppositeRates<'f>> {
    let all: Vec<&StickRates> = subject.model.rates.iter().filter(|rates| rates.lines.len() > 1).collect();
    for control in signals.switches() {
        let named = |rates: &&&StickRates| {
            let mut whens = rates.lines.iter().filter_map(|line| line.when.as_ref());
            whens.any(|when| hangs_on(subject.model, when, signals.name(control)))
        };
        let on: Vec<&StickRates> = all.iter().filter(named).copied().collect();
        if on.len() < 2 {
            continue;
        }
        // The lines in force at one position, in the order of the sticks.
        let lines_at = |at: u8| {
            let path = Path::at(signals.program().rest()).then(control, Setting::Position(at));
            let holds = |line: &&RateLine| {
                line.when.as_ref().is_none_or(|when| {
                    let when = signals.lowered().when(when);
                    when.is_ok_and(|when| signals.program().holds(&path, &when) == Some(true))
                })
            };
            on.iter().map(|rates| rates.lines.iter().find(holds)).collect::<Vec<_>>()
        };
        let at: Vec<_> = (0..signals.positions(control)).map(lines_at).collect();
        // A rate that leaves next to nothing is a slip of another kind.
        let differ = |low: &RateLine, high: &RateLine| {
            let (low, high) = (low.rate.value.to_f64(), high.rate.value.to_f64());
            high - low >= RATES_DIFFER && low >= high * LEAVES
        };
        let positions = 0..signals.positions(control);
        for (low, high) in positions.clone().flat_map(|low| positions.clone().map(move |high| (low, high))) {
            let both = at[usize::from(low)].iter().zip(&at[usize::from(high)]);
            let lines: Vec<_> =
                on.iter().zip(both).filter_map(|(rates, (low, high))| Some((*rates, [(*low)?, (*high)?]))).collect();
            let rises = |(_, [a, b]): &&(&StickRates, [&RateLine; 2])| differ(a, b);
            let falls = |(_, [a, b]): &&(&StickRates, [&RateLine; 2])| differ(b, a);
            if let (Some(one), Some(other)) = (lines.iter().find(rises), lines.iter().find(falls)) {
                return Some(OppositeRates { control, at: [low, high], sticks: [*one, *other] });
            }
        }
    }
    None
}
