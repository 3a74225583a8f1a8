//! The same questions put to the solver, and witnesses replayed in its model.

use super::past;
use super::smt::{Before, Moment, fraction, number, switch_values, trim_of};
use super::solver::{Solver, Term};
use num_bigint::BigInt;
use num_rational::BigRational;
use std::fmt::Write as _;
use walkaround::signal::*;

/// One model in the solver.
pub(crate) struct Oracle<'a> {
    parts: &'a Parts,
    solver: &'a mut Solver,
    tests: Vec<past::Test>,
    pub(crate) pasts: usize,
}

impl<'a> Oracle<'a> {
    /// Tells the solver the model and lets it find every reachable past, for questions that look at no more than the model
    /// or these conditions do.
    pub(crate) fn new(parts: &'a Parts, solver: &'a mut Solver, asked: &[&Condition]) -> Self {
        Self::of(parts, solver, asked, "")
    }

    /// The same of two models put together, whose controls are tied by assertions about the moment `s`.
    pub(crate) fn tied(parts: &'a Parts, solver: &'a mut Solver, ties: &str) -> Self {
        Self::of(parts, solver, &[], ties)
    }

    fn of(parts: &'a Parts, solver: &'a mut Solver, asked: &[&Condition], ties: &str) -> Self {
        let tests = past::tests(parts, asked.iter().copied());
        solver.reset();
        past::declare(solver, parts, &tests);
        let mut now = Moment::new(parts, "s", Before::Past(&tests));
        now.declare_controls();
        solver.tell(&now.take());
        solver.tell(ties);
        // The definitions that the pasts need go with this inner push; a question writes its own.
        solver.tell("(push)\n");
        let pasts = past::reachable(solver, parts, &mut now, &tests);
        solver.tell("(pop)\n");
        solver.tell(&past::is_one_of(parts, &pasts));
        Self { parts, solver, pasts: pasts.len(), tests }
    }

    /// Whether a question has the answer yes.
    pub(crate) fn answer(&mut self, question: &Question) -> bool {
        let mut now = Moment::new(self.parts, "s", Before::Past(&self.tests));
        let state = now.condition(&question.state);
        // A step's moment hangs on the latches of this one.
        for index in 0..self.parts.conditions.len() {
            now.named(ConditionId(index as u16));
        }
        let mut text = format!("(push)\n{}(assert {state})\n", now.take());
        text += &kept(self.parts, &question.fixed, "s");
        for (at, step) in question.then.iter().enumerate() {
            let suffix = format!("n{at}");
            let mut next = Moment::new(self.parts, &suffix, Before::Moment("s"));
            next.declare_controls();
            let reach = next.condition(&step.reach);
            let _ = writeln!(text, "{}(assert {reach})", next.take());
            text += &kept(self.parts, &question.fixed, &suffix);
            text += &one_movement(self.parts, step, &suffix);
        }
        self.solver.tell(&text);
        let found = self.solver.is_satisfiable();
        self.solver.tell("(pop)\n");
        found
    }

    /// Whether in some state the pulses received on two channels are more than 0.1 us apart.
    pub(crate) fn is_apart(&mut self, one: u16, other: u16) -> bool {
        let mut now = Moment::new(self.parts, "s", Before::Past(&self.tests));
        let (one, other) = (now.channel(one, Measure::Received), now.channel(other, Measure::Received));
        let apart = format!("(assert (or (> (- {one} {other}) 0.1) (> (- {other} {one}) 0.1)))");
        self.solver.tell(&format!("(push)\n{}{apart}\n", now.take()));
        let found = self.solver.is_satisfiable();
        self.solver.tell("(pop)\n");
        found
    }

    /// The least and the greatest that a channel reaches where a condition holds, by the solver's optimiser; `None` where
    /// it never holds. An end that is only approached counts.
    pub(crate) fn range(
        &mut self,
        channel: u16,
        measure: Measure,
        given: &Condition,
    ) -> Option<(BigRational, BigRational)> {
        let mut now = Moment::new(self.parts, "s", Before::Past(&self.tests));
        let given = now.condition(given);
        let value = now.channel(channel, measure);
        let text = format!("{}(assert {given})\n(declare-const goal Real)\n(assert (= goal {value}))\n", now.take());
        self.solver.tell(&format!("(push)\n{text}"));
        // One goal at a time, and every end is held against the plain solver: this optimiser stops short now and then, above
        // all of an end that is only approached. A state beyond the end by more than the margin sets it to work again.
        let end = |solver: &mut Solver, towards: &str, beyond: &str| {
            solver.tell("(push)\n");
            let mut found = None;
            while solver.is_satisfiable() {
                solver.tell(&format!("(push)\n({towards} goal)\n"));
                assert!(solver.is_satisfiable(), "a goal changes nothing");
                let answer = Term::read(&solver.ask("(get-objectives)"));
                let best = answer.list().pop().unwrap().list().pop().unwrap().number();
                solver.tell(&format!("(pop)\n(assert ({beyond} {}))\n", rational(&best)));
                found = Some(best);
            }
            solver.tell("(pop)\n");
            found
        };
        let ends = end(self.solver, "minimize", "< (+ goal 0.001)")
            .map(|low| (low, end(self.solver, "maximize", "> (- goal 0.001)").unwrap()));
        self.solver.tell("(pop)\n");
        ends
    }

    /// Follows a path in the solver's model. Whether the condition holds at its end, and what channel by channel is read
    /// there: percent, sent, received.
    pub(crate) fn replay(&mut self, path: &Path, condition: &Condition) -> (bool, Vec<[BigRational; 3]>) {
        let mut stand = path.start.clone();
        let mut text = String::from("(push)\n");
        let mut last = String::new();
        let mut names = Vec::new();
        for at in 0..=path.movements.len() {
            if let Some(movement) = at.checked_sub(1).map(|before| &path.movements[before]) {
                stand.apply(movement);
            }
            let suffix = format!("w{at}");
            let before = if at == 0 { Before::Nothing } else { Before::Moment(&last) };
            let mut moment = Moment::new(self.parts, &suffix, before);
            moment.define_controls(&stand);
            for index in 0..self.parts.conditions.len() {
                moment.named(ConditionId(index as u16));
            }
            if at == path.movements.len() {
                let state = moment.condition(condition);
                names.push(state);
                for channel in self.parts.channels.iter().filter(|channel| !channel.is_mix()) {
                    for measure in [Measure::Percent, Measure::Sent, Measure::Received] {
                        names.push(moment.channel(channel.number, measure));
                    }
                }
            }
            text += &moment.take();
            last = suffix;
        }
        self.solver.tell(&text);
        assert!(self.solver.is_satisfiable(), "constants can't contradict each other");
        let values = self.solver.values(&names);
        self.solver.tell("(pop)\n");
        let (state, channels) = values.split_first().unwrap();
        let numbers: Vec<_> = channels.iter().map(Term::number).collect();
        (state.is_true(), numbers.chunks(3).map(|c| [c[0].clone(), c[1].clone(), c[2].clone()]).collect())
    }
}

/// Whether a step lets this control move; a trim moves only where any control may.
pub(crate) fn may_move(parts: &Parts, who: &Movers, id: ControlId) -> bool {
    let control = &parts.controls[usize::from(id.0)];
    match who {
        Movers::These(list) => list.contains(&id),
        Movers::Any => true,
        // Nobody moves what telemetry tells.
        Movers::SwitchesAndButtons => matches!(control.kind, ControlKind::Switch { .. } | ControlKind::Button { .. }),
        Movers::NotSticks => !matches!(control.kind, ControlKind::Stick { .. } | ControlKind::Reported),
    }
}

/// One control that may move stands elsewhere (an axis may come to where it was), and everything else where it was.
fn one_movement(parts: &Parts, step: &Step, suffix: &str) -> String {
    let mut handles = Vec::new();
    let mut movers = Vec::new();
    for (index, control) in parts.controls.iter().enumerate() {
        if may_move(parts, &step.who, ControlId(index as u16)) {
            movers.push((handles.len(), switch_values(control).is_some()));
        }
        handles.push(format!("c{index}"));
        if trim_of(control).is_some() {
            if step.who == Movers::Any {
                movers.push((handles.len(), false));
            }
            handles.push(format!("t{index}"));
        }
    }
    let mut text = String::from("(assert (or false");
    for (mover, is_switch) in movers {
        text += " (and true";
        for (at, name) in handles.iter().enumerate() {
            if at != mover {
                let _ = write!(text, " (= {name}_s {name}_{suffix})");
            } else if is_switch {
                let _ = write!(text, " (not (= {name}_s {name}_{suffix}))");
            }
        }
        text.push(')');
    }
    text + "))\n"
}

/// What is kept, in one moment.
fn kept(parts: &Parts, fixed: &[(Handle, Kept)], suffix: &str) -> String {
    let mut text = String::new();
    for (handle, kept) in fixed {
        let (name, id) = match handle {
            Handle::Control(id) => (format!("c{}_{suffix}", id.0), id),
            Handle::Trim(id) => (format!("t{}_{suffix}", id.0), id),
        };
        let (low, high) = match *kept {
            Kept::At(Setting::Percent(at)) => (fraction(at), fraction(at)),
            Kept::At(Setting::Position(at)) => {
                let at = switch_values(&parts.controls[usize::from(id.0)]).unwrap()[usize::from(at)];
                (at, at)
            }
            Kept::Within(low, high) => (fraction(low), fraction(high)),
        };
        let _ = writeln!(text, "(assert (<= {} {name} {}))", number(low), number(high));
    }
    text
}

fn rational(value: &BigRational) -> String {
    let size = |part: &BigInt| format!("{}.0", part.magnitude());
    let plain = format!("(/ {} {})", size(value.numer()), size(value.denom()));
    if *value.numer() < BigInt::from(0) { format!("(- {plain})") } else { plain }
}
