//! Sums that have to lie between limits, in one moment or before and after a movement. Which sums of switches there are is
//! worked out as a set: looking at every position of every switch would take for ever.

use crate::signal::number::rational64::Rational64;
use crate::signal::program::compiled::switch_value;
use crate::signal::solve::cells::Cell;
use crate::signal::solve::cone::VarSet;
use crate::signal::solve::dag::{Bit, Kind, Num, NumId, VarId};
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::propagate::Impossible;

/// More sums than this are told apart only roughly.
const MOST_SUMS: i128 = 1 << 14;

/// The finest part of a percent, or of a microsecond, in which sums are counted.
const FINEST: i128 = 1 << 40;

/// How many words of 64 sums are put together in the time of one look at a node.
const WORDS_A_LOOK: usize = 16;

/// What is demanded of one sum, in all moments together.
struct Demanded {
    num: NumId,
    limits: Vec<Limit>,
}

struct Limit {
    scene: u8,
    at: Rational64,
    /// The sum has to be over it, else under it.
    over: bool,
    /// The limit itself is as good.
    counts: bool,
}

/// From the least to the greatest of something, in whole steps.
type Span = (i128, i128);

impl Eval<'_> {
    /// Refuses regions in which a sum can't meet everything that is demanded of it together, also before and after a movement
    /// of a part of it.
    pub(in crate::signal) fn sums_meet_demands(&mut self) -> Result<(), Impossible> {
        for demanded in self.demanded_of_sums() {
            if self.meets(&demanded) == Some(false) {
                return Err(Impossible);
            }
        }
        Ok(())
    }

    /// The sums that must lie over one limit and under another. One limit alone is met, or not, at the ends of the sum.
    fn demanded_of_sums(&self) -> Vec<Demanded> {
        let mut found: Vec<Demanded> = Vec::new();
        for &(scene, bit, want) in &self.domains.demands {
            let Bit::Over { num, strict, limit } = self.dag.bit(bit) else { continue };
            if !matches!(self.dag.num(num), Num::Lin { .. }) {
                continue;
            }
            let limit = Limit { scene, at: limit, over: want, counts: strict != want };
            match found.iter_mut().find(|known| known.num == num) {
                Some(known) => known.limits.push(limit),
                None => found.push(Demanded { num, limits: vec![limit] }),
            }
        }
        found.retain(|sum| sum.limits.iter().any(|limit| limit.over) && sum.limits.iter().any(|limit| !limit.over));
        found
    }

    /// Whether there may be a sum as demanded; `None` where that can't be told.
    fn meets(&mut self, demanded: &Demanded) -> Option<bool> {
        let dag = self.dag;
        let Num::Lin { constant, terms } = dag.num(demanded.num) else { return None };
        let scenes = self.domains.scenes.iter();
        let moved = scenes.filter_map(|scene| Some(VarSet::one(scene.moved?.0)));
        let moved = moved.fold(VarSet::default(), VarSet::union);
        // Switches that stand still, what else stays the same in every moment, and what does not.
        let (mut still, mut same, mut other) = (Vec::<Vec<Rational64>>::new(), Vec::new(), Vec::new());
        for &(by, term) in dag.terms(terms) {
            let cone = &dag.sort(term).cone;
            match (dag.num(term), self.domains.cells.get(self.var_of(term))) {
                _ if cone.vars.meets(moved) || !cone.is_of_now() => other.push((by, term)),
                (Num::Var(var), Some(Cell::Mask(mask))) => {
                    let count = usize::from(self.positions_of(var));
                    let places = (0..count as u8).filter(|at| mask >> at & 1 == 1);
                    still.push(places.map(|at| switch_value(at, count).mul(by)).collect::<Option<_>>()?);
                }
                _ => same.push((by, term)),
            }
        }
        // Everything in whole steps of one size.
        let limits = demanded.limits.iter().map(|limit| limit.at);
        let numbers = still.iter().flatten().copied().chain(limits).chain([constant]);
        let step = numbers.map(|number| i128::from(number.ratio().1)).try_fold(1, common)?;
        let steps = |number: Rational64| i128::from(number.ratio().0) * (step / i128::from(number.ratio().1));
        let mut within = |scene: u8, terms: &[(Rational64, NumId)]| {
            terms.iter().try_fold((0, 0), |(low, high), &(by, term)| {
                let exact =
                    self.exact_bounds(scene, term).and_then(|ends| Some((ends.low.mul(by)?, ends.high.mul(by)?)));
                let exact = exact.filter(|ends| {
                    step % i128::from(ends.0.ratio().1) == 0 && step % i128::from(ends.1.ratio().1) == 0
                });
                let (from, to) = match exact {
                    Some((a, b)) => (steps(a).min(steps(b)), steps(a).max(steps(b))),
                    None => {
                        let ends = self.num(scene, term).scale(by).ends;
                        (whole(ends.low, step)? - 2, whole(ends.high, step)? + 2)
                    }
                };
                Some((low + from, high + to))
            })
        };
        // Where the part that stays the same has to lie.
        let (mut low, mut high): (Option<i128>, Option<i128>) = (None, None);
        let is_whole = same.is_empty();
        let mut is_open = false;
        for limit in &demanded.limits {
            let (least, most): Span = within(limit.scene, &other)?;
            let at = steps(limit.at) - steps(constant);
            // Whole steps lie at least one apart.
            let beyond = i128::from(is_whole && !limit.counts);
            is_open |= !limit.counts && !is_whole;
            if limit.over {
                low = low.max(Some(at - most + beyond));
            } else {
                let end = at - least - beyond;
                high = Some(high.map_or(end, |known| known.min(end)));
            }
        }
        let (low, high) = (low?, high?);
        if low > high || low == high && is_open {
            return Some(false);
        }
        let (least, most): Span = within(0, &same)?;
        self.lies_in(&still, &steps, (low - most, high - least))
    }

    /// Whether a sum of one of each may lie in a span; `None` where there is too much to add up.
    fn lies_in(&mut self, parts: &[Vec<Rational64>], steps: &dyn Fn(Rational64) -> i128, span: Span) -> Option<bool> {
        // How far each lies over the least of its part.
        let (mut base, mut total, mut grain) = (0, 0, 0);
        let mut above: Vec<Vec<i128>> = Vec::with_capacity(parts.len());
        for part in parts {
            let least = part.iter().map(|&value| steps(value)).min()?;
            let part: Vec<i128> = part.iter().map(|&value| steps(value) - least).collect();
            base += least;
            total += part.iter().max()?;
            grain = part.iter().fold(grain, |grain, &value| divisor(grain, value));
            above.push(part);
        }
        let (mut grain, mut rough) = (grain.max(1), 0);
        if total / grain >= MOST_SUMS {
            // Sums that are close count as one that may be any of them.
            grain = total / MOST_SUMS + 1;
            rough = grain * parts.len() as i128;
        }
        let words = usize::try_from(total / grain / 64).ok()? + 1;
        if !self.domains.work((above.iter().map(Vec::len).sum::<usize>() * words / WORDS_A_LOOK) as u64) {
            return None;
        }
        // A bit for each sum that there may be.
        let mut sums = vec![0_u64; words];
        sums[0] = 1;
        for part in above {
            let mut next = vec![0_u64; words];
            for value in part {
                let up = usize::try_from(value / grain).ok()?;
                let (whole, bits) = (up / 64, up % 64);
                for at in (whole..words).rev() {
                    let low = sums[at - whole] << bits;
                    let carried = if bits > 0 && at > whole { sums[at - whole - 1] >> (64 - bits) } else { 0 };
                    next[at] |= low | carried;
                }
            }
            sums = next;
        }
        let first = -(base + rough - span.0).div_euclid(grain);
        let last = (span.1 - base).div_euclid(grain).min(total / grain);
        let is_there = |at: i128| sums.get((at / 64) as usize).is_some_and(|word| word >> (at % 64) & 1 == 1);
        Some((first.max(0)..=last).any(is_there))
    }

    /// The place among the cells of the variable that a value is; none for other values.
    fn var_of(&self, num: NumId) -> usize {
        match self.dag.num(num) {
            Num::Var(var) => usize::from(var),
            _ => usize::MAX,
        }
    }

    pub(in crate::signal) fn positions_of(&self, var: VarId) -> u8 {
        match self.dag.kind(var) {
            Kind::Switch(count) => count,
            Kind::Axis(_) => 0,
        }
    }
}

/// The least common multiple, where it is no finer than sums are counted.
fn common(a: i128, b: i128) -> Option<i128> {
    let found = a / divisor(a, b) * b;
    (found <= FINEST).then_some(found)
}

/// The greatest common divisor.
const fn divisor(mut a: i128, mut b: i128) -> i128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// A number in whole steps, cut off; `None` where it is not of moderate size.
fn whole(number: f64, step: i128) -> Option<i128> {
    let found = number * step as f64;
    // A product of this size is off by less than one step.
    (found.abs() < 4e15).then(|| found.floor() as i128)
}
