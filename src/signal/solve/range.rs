//! What a channel reaches over all reachable states.

use crate::signal::number::interval::Interval;
use crate::signal::number::rational::Rational;
use crate::signal::number::rational64::Rational64;
use crate::signal::program::check::check_asked;
use crate::signal::program::output::Levels;
use crate::signal::program::parts::{Carriage, Measure, Scale};
use crate::signal::program::reason::Unstated;
use crate::signal::program::state::Handle;
use crate::signal::solve::branch::Cut;
use crate::signal::solve::branch::{branch, branch_value};
use crate::signal::solve::cells::Cell;
use crate::signal::solve::dag::{BitId, Dag, NumId, TooLarge, VarId};
use crate::signal::solve::domains::{Domains, Hint, Tri};
use crate::signal::solve::evaluate::Eval;
use crate::signal::solve::latch_states::{Finder, Grouping, Groups};
use crate::signal::solve::pasts::Group;
use crate::signal::solve::program::{Program, SearchState};
use crate::signal::solve::query::{centred, keep};
use crate::signal::solve::query_cache::{Looked, Settled};
use crate::signal::solve::question::{Kept, Range, Reach, Why, Within};

/// How closely the ends of a value that bends are found, in microseconds before the link.
const FINE: f64 = 0.05;

/// The same for a value in percent.
const FINE_PERCENT: f64 = 0.01;

/// An end that was found: its value, and whether it is only approached.
#[derive(Clone, Debug)]
struct End {
    near: f64,
    exact: Option<Rational64>,
    open: bool,
}

impl Program {
    /// What a channel reaches; `None` where the model does not define it, or nothing of it is received.
    pub fn range(&self, channel: u16, measure: Measure, within: &Within) -> Option<Reach> {
        let carriage = match (self.channel(channel), self.parts().elsewhere) {
            (Some(known), _) => known.carriage,
            (None, Some(id)) => Carriage::Unknown(id),
            (None, None) => return None,
        };
        if measure == Measure::Received && carriage == Carriage::Not {
            return None;
        }
        let key = match self.look_up(|row| row.range(channel, measure, within)) {
            Looked::Found(Settled::Reach(reach), work) if self.pay(work) => return Some(reach),
            Looked::Found(..) => return Some(Reach::NotDecided(Why::Budget)),
            Looked::New(key) => Some(key),
            _ => None,
        };
        let before = self.allowance().spent();
        let asked = check_asked(self.parts(), &within.given).map_err(|_| Why::Malformed);
        let not_known = || self.not_known([&within.given], Some((channel, measure)));
        let reach = match asked.and_then(|()| not_known().map_or(Ok(()), Err)) {
            Ok(()) => self.reach(channel, measure, carriage, within, &mut self.kept()),
            Err(why) => Ok(Reach::NotDecided(why)),
        };
        let reach = reach.unwrap_or_else(|TooLarge| Reach::NotDecided(self.too_large()));
        if let (Some(answers), Some(key), false) = (&self.answers, key, matches!(reach, Reach::NotDecided(_))) {
            answers.keep(key, Settled::Reach(reach), self.allowance().spent() - before);
        }
        Some(reach)
    }

    fn reach(
        &self,
        channel: u16,
        measure: Measure,
        carriage: Carriage,
        within: &Within,
        kept: &mut SearchState,
    ) -> Result<Reach, TooLarge> {
        let SearchState { dag, latch_states, domains } = kept;
        let (num, given) = self.put_together(dag, |dag| {
            let num = match measure {
                Measure::Percent => dag.percent(self, channel)?,
                Measure::Sent | Measure::Received => dag.sent(self, channel)?,
            };
            within.fixed.iter().try_for_each(|&(handle, _)| dag.var(self, handle).map(drop))?;
            Ok((num, dag.asked(self, &within.given)?))
        })?;
        let cone = dag.cone(given).union(&dag.sort(num).cone);
        let groups = self.spending(|budget| {
            Finder { program: self, dag, domains, budget }.groups(&cone, Grouping::Exact, latch_states)
        });
        let groups = match groups {
            Ok(groups) if groups.exact => groups,
            Ok(_) => return Ok(Reach::NotDecided(Why::History)),
            Err(why) => return Ok(Reach::NotDecided(why)),
        };
        let trims = self.unstated_trims(dag, &cone, &within.fixed);
        let wanted = Wanted { given, num, measure, carriage };
        let mut over = |fixed: &[(Handle, Kept)]| {
            self.spending(|budget| self.reach_over(&wanted, fixed, &groups, dag, domains, budget))
        };
        let reach = over(&within.fixed);
        if trims.is_empty() || reach == Reach::Nowhere {
            return Ok(reach);
        }
        // With trims of any range it is known only where the widest there can be change nothing.
        let at_rest = centred(&within.fixed, &trims).map(|fixed| over(&fixed));
        Ok(if at_rest == Some(reach) { reach } else { Reach::NotDecided(Why::NotStated(Unstated::TrimRange)) })
    }

    /// What is reached while handles are kept.
    fn reach_over(
        &self,
        wanted: &Wanted,
        fixed: &[(Handle, Kept)],
        groups: &Groups,
        dag: &Dag,
        domains: &mut Domains,
        budget: &mut u64,
    ) -> Reach {
        let &Wanted { given, num, measure, carriage } = wanted;
        domains.clear(dag);
        if !keep(dag, domains, fixed) {
            return Reach::Nowhere;
        }
        domains.groups.extend(groups.list.iter().map(Group::of));
        let mut eval = Eval::new(self, dag, domains);
        let fine = if measure == Measure::Percent { FINE_PERCENT } else { FINE };
        let mut ends = Ends { given, num, fine, budget, open: None, low: None, high: None, reached: None };
        if let Err(why) = ends.explore(&mut eval) {
            return Reach::NotDecided(why);
        }
        if let Some(why) = ends.open {
            return Reach::NotDecided(why);
        }
        let (Some(low), Some(high)) = (ends.low, ends.high) else { return Reach::Nowhere };
        let (low, high) = match (measure, carriage) {
            (Measure::Received, Carriage::Levels(n)) => {
                match (arrives(&low, self.parts().scale, n, true), arrives(&high, self.parts().scale, n, false)) {
                    (Some(low), Some(high)) => (low, high),
                    _ => return Reach::NotDecided(Why::TooClose),
                }
            }
            _ => (low.near, high.near),
        };
        Reach::Range(Range { measure, low, high })
    }
}

/// What a range is asked of.
struct Wanted {
    given: BitId,
    num: NumId,
    measure: Measure,
    carriage: Carriage,
}

/// The level that an end arrives as. One that is only approached from above stands just beyond a tie. An end that is found
/// only nearly lies up to this far inside of what was found; where a tie lies between, there is no answer.
fn arrives(end: &End, scale: Scale, levels: u32, is_low: bool) -> Option<f64> {
    let levels = Levels::new(scale, levels);
    let at = |pulse: &Rational| levels.nearest(pulse);
    let Some(exact) = end.exact else {
        // An end is settled within this of a place that was tried, and that place is known as closely.
        let inside = if is_low { 2.0 * FINE } else { -2.0 * FINE };
        let near = |pulse: f64| at(&Rational::from_big(crate::signal::number::big::from_f64(pulse)));
        let (found, furthest) = (near(end.near), near(end.near + inside));
        return (found == furthest).then(|| found.roughly());
    };
    let pulse = Rational::Small(exact);
    let nudge = Rational::ONE.div(&Rational::whole(1_000_000_000));
    let arrived = if end.open && is_low { at(&pulse.add(&nudge)) } else { at(&pulse) };
    Some(arrived.roughly())
}

struct Ends<'a> {
    given: BitId,
    num: NumId,
    fine: f64,
    budget: &'a mut u64,
    open: Option<Why>,
    low: Option<End>,
    high: Option<End>,
    /// The least and the greatest value of what was shown to be reached.
    reached: Option<Interval>,
}

impl Ends<'_> {
    fn explore(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        if !eval.domains.spend(self.budget) {
            return Err(Why::Budget);
        }
        eval.with(std::iter::once((0, self.given)), |eval| self.visit(eval))
    }

    fn visit(&mut self, eval: &mut Eval<'_>) -> Result<(), Why> {
        match eval.bit(0, self.given) {
            Tri::False => return Ok(()),
            Tri::True => {}
            Tri::Maybe(Hint::Close(..)) => {
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
                self.try_out(eval);
                if self.is_settled(eval) {
                    return Ok(());
                }
                return branch(eval, hint, &mut |eval| self.explore(eval));
            }
        }
        if self.is_covered(eval) {
            return Ok(());
        }
        if let Some(ends) = eval.exact_bounds(0, self.num)
            && (self.single(eval) || ends.low == ends.high)
        {
            self.take(Some(ends.low), ends.low.near(), ends.low_open, true);
            self.take(Some(ends.high), ends.high.near(), ends.high_open, false);
            self.reach(Interval { low: ends.low.near(), high: ends.high.near() });
            return Ok(());
        }
        self.try_out(eval);
        if self.is_settled(eval) {
            return Ok(());
        }
        let cut = eval.cut(0, self.num, None);
        if eval.domains.is_tired() {
            return Err(Why::Budget);
        }
        match cut {
            Cut::Condition(_) | Cut::Each(..) => {}
            Cut::Halve(..) | Cut::At(..) if eval.num(0, self.num).width() >= self.fine => {}
            // Nothing helps, and nothing shows that the ends of what is left are reached.
            Cut::Nothing if eval.num(0, self.num).width() >= self.fine => {
                self.open = self.open.or(Some(Why::TooClose));
                return Ok(());
            }
            _ => {
                self.take_whole(eval);
                return Ok(());
            }
        }
        branch_value(eval, cut, &mut |eval| self.explore(eval))
    }

    /// Tries the places where the value should be greatest and least, and where the condition should hold: what is reached
    /// there need not be looked for elsewhere.
    fn try_out(&mut self, eval: &mut Eval<'_>) {
        for up in [true, false] {
            let trail = eval.domains.trail.len();
            eval.push(0, self.num, up, true);
            self.read(eval);
            if !self.single(eval) {
                self.go_further(eval, up, trail);
            }
            eval.backtrack(trail);
        }
        let trail = eval.domains.trail.len();
        eval.probe(&mut |eval| self.read(eval));
        eval.backtrack(trail);
    }

    /// In a value that takes a control more than once, what moves one of its parts furthest may hold another back: each control
    /// that was moved since is tried at its other end, and left there where the value goes further.
    fn go_further(&mut self, eval: &mut Eval<'_>, up: bool, since: usize) {
        let moved: Vec<(VarId, Cell)> =
            eval.domains.trail.iter().skip(since).map(|&(_, var, from)| (var, from)).collect();
        let middle = |span: Interval| span.low + span.high;
        let mut best = middle(eval.num(0, self.num).ends);
        for (var, from) in moved {
            let here = eval.cell(0, var);
            for end in from.ends().into_iter().flatten().filter(|end| *end != here) {
                eval.domains.set(0, var, end);
                self.read(eval);
                let found = middle(eval.num(0, self.num).ends);
                if up == (found > best) && found != best {
                    best = found;
                } else {
                    eval.domains.set(0, var, here);
                }
            }
        }
    }

    /// Notes the value of the place that the region was brought to; whether the condition holds there.
    fn read(&mut self, eval: &mut Eval<'_>) -> bool {
        let holds = eval.bit(0, self.given) == Tri::True;
        let span = eval.num(0, self.num);
        if holds && span.width() < self.fine {
            let exact = eval.exact_point(0, self.num);
            self.take(exact, exact.map_or(span.ends.low, Rational64::near), false, true);
            self.take(exact, exact.map_or(span.ends.high, Rational64::near), false, false);
            self.reach(span.ends);
        }
        holds
    }

    fn reach(&mut self, span: Interval) {
        self.reached = Some(self.reached.map_or(span, |reached| reached.hull(span)));
    }

    /// Whether nothing in the box lies beyond what was reached by more than ends may be off: it is taken as it is then.
    fn is_settled(&mut self, eval: &mut Eval<'_>) -> bool {
        let ends = eval.num(0, self.num).ends;
        let settled = self
            .reached
            .is_some_and(|reached| reached.low - self.fine <= ends.low && ends.high <= reached.high + self.fine);
        if settled {
            self.take_whole(eval);
        }
        settled
    }

    /// Takes the ends of the box for ends of the range, though they are known only nearly.
    fn take_whole(&mut self, eval: &mut Eval<'_>) {
        let span = eval.num(0, self.num);
        self.take(None, span.ends.low, span.low_open, true);
        self.take(None, span.ends.high, span.high_open, false);
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
        eval.dag.sort(self.num).tree
    }

    fn take(&mut self, exact: Option<Rational64>, near: f64, open: bool, is_low: bool) {
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
