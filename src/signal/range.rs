//! What a channel reaches over all reachable states.

use super::cut::Cut;
use super::eval::Eval;
use super::fix::Fix;
use super::memory::{Finder, Grouping};
use super::net::{BitId, NumId, TooLarge};
use super::output::Levels;
use super::parts::{Carriage, Measure, Scale};
use super::program::Program;
use super::query::{Known, keep};
use super::question::{Range, Reach, Why, Within};
use super::real::Real;
use super::region::{Group, Hint, Tri};
use super::search::{split, split_value};

/// How closely the ends of a value that bends are found, in microseconds before the link (or 0.02 %).
const FINE: f64 = 0.05;

/// An end that was found: its value, and whether it is only approached.
#[derive(Clone, Debug)]
struct End {
    near: f64,
    exact: Option<Fix>,
    open: bool,
}

impl Program {
    /// What a channel reaches; `None` where the model does not define it, or nothing of it is received.
    pub fn range(&self, channel: u16, measure: Measure, within: &Within) -> Option<Reach> {
        let carriage = self.channel(channel)?.carriage;
        if measure == Measure::Received && carriage == Carriage::Not {
            return None;
        }
        let asked = super::check::check_asked(&self.parts, &within.given);
        let mut known = self.known.borrow_mut();
        let reach =
            asked.map_err(|_| TooLarge).and_then(|()| self.reach(channel, measure, carriage, within, &mut known));
        Some(reach.unwrap_or(Reach::NotDecided(Why::Budget)))
    }

    fn reach(
        &self,
        channel: u16,
        measure: Measure,
        carriage: Carriage,
        within: &Within,
        known: &mut Known,
    ) -> Result<Reach, TooLarge> {
        let Known { net, memory, region } = known;
        let num = match measure {
            Measure::Percent => net.percent(self, channel)?,
            Measure::Sent | Measure::Received => net.sent(self, channel)?,
        };
        let given = net.asked(self, &within.given)?;
        for &(handle, _) in &within.fixed {
            net.var(self, handle)?;
        }
        let cone = net.cone(given).union(&net.sort(num).cone);
        let mut budget = self.budget;
        let groups =
            match (Finder { program: self, net, region, budget: &mut budget }).groups(&cone, Grouping::Exact, memory) {
                Ok(groups) => groups,
                Err(why) => return Ok(Reach::NotDecided(why)),
            };
        region.clear(net);
        if !keep(net, region, &within.fixed) {
            return Ok(Reach::Nowhere);
        }
        region.groups.extend(groups.list.iter().map(Group::of));
        let mut eval = Eval::new(self, net, region);
        let mut ends = Ends { given, num, budget, open: None, low: None, high: None };
        if let Err(why) = ends.explore(&mut eval) {
            return Ok(Reach::NotDecided(why));
        }
        if let Some(why) = ends.open {
            return Ok(Reach::NotDecided(why));
        }
        let (Some(low), Some(high)) = (ends.low, ends.high) else { return Ok(Reach::Nowhere) };
        let (low, high) = match (measure, carriage) {
            (Measure::Received, Carriage::Levels(n)) => {
                match (arrives(&low, self.parts.scale, n, true), arrives(&high, self.parts.scale, n, false)) {
                    (Some(low), Some(high)) => (low, high),
                    _ => return Ok(Reach::NotDecided(Why::TooClose)),
                }
            }
            _ => (low.near, high.near),
        };
        Ok(Reach::Range(Range { measure, low, high }))
    }
}

/// The level that an end arrives as. One that is only approached from above stands just beyond a tie. An end that is found
/// only nearly may lie on either side of a tie that is near; there is no answer then.
fn arrives(end: &End, scale: Scale, levels: u32, is_low: bool) -> Option<f64> {
    let levels = Levels::new(scale, levels);
    let at = |pulse: &Real| levels.nearest(pulse);
    let Some(exact) = end.exact else {
        let near = |pulse: f64| at(&Real::from_big(super::number::from_f64(pulse)));
        let (below, above) = (near(end.near - FINE), near(end.near + FINE));
        return (below == above).then(|| below.roughly());
    };
    let pulse = Real::Small(exact);
    let nudge = Real::ONE.div(&Real::whole(1_000_000_000));
    let arrived = if end.open && is_low { at(&pulse.add(&nudge)) } else { at(&pulse) };
    Some(arrived.roughly())
}

struct Ends {
    given: BitId,
    num: NumId,
    budget: u64,
    open: Option<Why>,
    low: Option<End>,
    high: Option<End>,
}

impl Ends {
    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        self.budget = self.budget.checked_sub(1).ok_or(Why::Budget)?;
        let trail = eval.region.trail.len();
        if eval.narrow(std::iter::once((0, self.given))).is_ok() {
            self.look(eval)?;
        }
        eval.widen(trail);
        Ok(())
    }

    fn look(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        match eval.bit(0, self.given) {
            Tri::False => return Ok(()),
            Tri::True => {}
            Tri::Maybe(Hint::Close) => {
                self.open = self.open.or(Some(Why::TooClose));
                return Ok(());
            }
            Tri::Maybe(Hint::NotKnown(channel)) => {
                self.open = self.open.or(Some(Why::NotKnown(channel)));
                return Ok(());
            }
            Tri::Maybe(hint) => {
                if self.is_covered(eval) {
                    return Ok(());
                }
                return split(eval, hint, &mut |eval| self.explore(eval));
            }
        }
        if self.is_covered(eval) {
            return Ok(());
        }
        if let Some(ends) = eval.exact(0, self.num)
            && (self.single(eval) || ends.low == ends.high)
        {
            self.take(Some(ends.low), ends.low.near(), ends.low_open, true);
            self.take(Some(ends.high), ends.high.near(), ends.high_open, false);
            return Ok(());
        }
        let span = eval.num(0, self.num);
        let cut = eval.cut(0, self.num, None);
        match cut {
            Cut::Condition(_) | Cut::Each(..) => {}
            Cut::Halve(..) | Cut::At(..) if span.width() >= FINE => {}
            _ => {
                self.take(None, span.ends.low, span.low_open, true);
                self.take(None, span.ends.high, span.high_open, false);
                return Ok(());
            }
        }
        split_value(eval, cut, &mut |eval| self.explore(eval))
    }

    /// Whether nothing in the box can move the ends that are known.
    fn is_covered(&self, eval: &mut Eval<'_>) -> bool {
        let span = eval.num(0, self.num);
        let low =
            self.low.as_ref().is_some_and(|low| low.near <= span.ends.low && (!low.open || low.near < span.ends.low));
        let high = self
            .high
            .as_ref()
            .is_some_and(|high| high.near >= span.ends.high && (!high.open || high.near > span.ends.high));
        low && high
    }

    /// Whether the exact ends are reached: each part of the value hangs on other variables.
    fn single(&self, eval: &Eval<'_>) -> bool {
        eval.net.sort(self.num).tree
    }

    fn take(&mut self, exact: Option<Fix>, near: f64, open: bool, is_low: bool) {
        let place = if is_low { &mut self.low } else { &mut self.high };
        let better = match place {
            None => true,
            Some(known) if known.near == near => known.open && !open,
            Some(known) => is_low == (near < known.near),
        };
        if better {
            *place = Some(End { near, exact, open });
        }
    }
}
