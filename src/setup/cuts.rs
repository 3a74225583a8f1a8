//! What stops a motor: lines that are meant as a cut, and the switches that keep it idle.

use super::motors::{Motor, stands_still_at};
use super::rates::rates_of;
use super::signals::Signals;
use super::stick_way::centred;
use super::stop::{Hold, Stop};
use super::subject::exactly;
use super::terms::{constant, hangs_on};
use crate::fleet::Decimal;
use crate::fleet::condition::{self as written, ConditionKind, ValueKind};
use crate::fleet::equipment::Handset;
use crate::fleet::model::{Channel, Model, ValueLine};
use crate::fleet::words::Stick;
use crate::signal::{
    Answer, Condition, ControlId, Exact, Function, Movers, Path, Position, Question, Setting, Why, exact, whole,
};
use crate::source::Span;
use compact_str::CompactString;

/// A constant this far down, in percent, is meant as a cut also where another line of the channel idles (common practice, no
/// source): what lies above may be a step of a motor that runs on a switch.
const MEANT_AS_CUT: i64 = -50;

/// A value line of a motor's channel that is a constant and nothing else.
#[derive(Clone, Debug)]
pub struct ConstantLine<'f> {
    /// Its number among the channel's lines, from 0.
    pub at: usize,
    /// The line.
    pub line: &'f ValueLine,
    /// What it says, in percent.
    pub percent: Decimal,
    /// What is sent, in microseconds; `None` where the handset's scale is not known.
    pub pulse: Option<Exact>,
}

/// A cut of two lines on a two-position switch: the first cuts, the second runs.
#[derive(Clone, Debug)]
pub struct SwitchCut<'f> {
    /// The switch.
    pub control: &'f str,
    /// The position that cuts.
    pub off: &'f str,
    /// The other.
    pub on: CompactString,
    /// What the channel is while nothing cuts.
    pub running: &'f ValueLine,
}

/// The switches and buttons of a channel of which some position keeps it from what `runs` says, whatever else is moved, and another
/// does not.
pub(super) fn stops(signals: &Signals, channel: u8, runs: &Condition) -> Result<Vec<Stop>, Why> {
    let named = signals.program().mentions(u16::from(channel)).controls;
    let mut found = Vec::new();
    for control in named.into_iter().filter(|&control| signals.positions(control) > 0) {
        let mut stop = Stop { control, stops: Vec::new(), lets: Vec::new() };
        for position in 0..signals.positions(control) {
            let at = Condition::At(control, Position::Index(position));
            let lets = signals.program().decide(&Question::is(Condition::All(vec![at, runs.clone()])))?;
            if lets { &mut stop.lets } else { &mut stop.stops }.push(position);
        }
        if !stop.stops.is_empty() && !stop.lets.is_empty() {
            found.push(stop);
        }
    }
    Ok(found)
}

/// The lines of a motor's channel that are a constant and nothing else, in a channel of several.
pub(super) fn constants<'f>(channel: &'f Channel, handset: Option<&Handset>) -> Vec<ConstantLine<'f>> {
    let lines = channel.lines.iter().enumerate().filter(|_| channel.lines.len() > 1);
    let constants = lines.filter_map(|(at, line)| {
        let percent = constant(&line.value)?;
        Some(ConstantLine { at, line, percent, pulse: constant_pulse(channel, subtrim(channel), handset, percent) })
    });
    constants.collect()
}

fn subtrim(channel: &Channel) -> Decimal {
    channel.subtrim.map_or(Decimal::whole(0), |subtrim| subtrim.value)
}

/// The pulse that a constant line of a channel gives with a subtrim, as it is sent.
fn constant_pulse(channel: &Channel, subtrim: Decimal, handset: Option<&Handset>, percent: Decimal) -> Option<Exact> {
    let (centre, span) = handset?.scale.as_ref()?.value;
    let hundred = exact(whole(100));
    let centre = exactly(channel.centre.map_or(centre, |centre| centre.value));
    let straight = exactly(percent);
    let turned = if channel.reversed.is_some() { straight.negate() } else { straight };
    let moved = turned.plus(&exactly(subtrim));
    let scaled = match channel.ends {
        Some(ends) if moved < exact(whole(0)) => moved.negate().times(&exactly(ends.value.0)).over(&hundred),
        Some(ends) => moved.times(&exactly(ends.value.1)).over(&hundred),
        None => moved,
    };
    let (low, high) = channel.travel.map_or((Decimal::whole(-100), Decimal::whole(100)), |travel| travel.value);
    let held = if low <= high { scaled.clamp(exactly(low), exactly(high)) } else { scaled };
    Some(centre.plus(&exactly(span).times(&held).over(&hundred)))
}

/// Whether a control chooses among the rates of the throttle and does nothing else to a channel.
pub fn only_chooses_rates(model: &Model, channel: u8, control: &str) -> bool {
    let hangs = |when: &Option<written::Condition>| when.as_ref().is_some_and(|when| hangs_on(model, when, control));
    let chooses =
        rates_of(model, Stick::Throttle).is_some_and(|rates| rates.lines.iter().any(|line| hangs(&line.when)));
    let own = model.channel(channel).into_iter().flat_map(|channel| &channel.lines);
    let lines = own.chain(model.mixes.iter().flat_map(|mix| &mix.lines));
    chooses && !lines.into_iter().any(|line| hangs(&line.when))
}

impl<'f> Motor<'f> {
    /// The constant lines that are meant as a cut and do not idle; `throttle/cut-fails` says so.
    pub fn failing_cuts(&self) -> impl Iterator<Item = &ConstantLine<'f>> {
        let idles = |line: &ConstantLine<'_>| Some(stands_still_at(self.idle?, line.pulse.as_ref()?));
        let other_idles = self.constants.iter().any(|line| idles(line) == Some(true));
        let lowest = self.constants.iter().map(|line| line.percent).min();
        self.constants.iter().filter(move |line| {
            let meant = match other_idles {
                // A motor that can run backwards may be told so by a switch.
                true => !self.reversible && line.percent <= Decimal::whole(MEANT_AS_CUT),
                false => line.percent.mantissa() <= 0 && Some(line.percent) == lowest,
            };
            meant && idles(line) == Some(false)
        })
    }

    /// The cut is in force: one of the lines that give an idle constant is the one that holds. `None` without such a
    /// line.
    pub fn cut(&self, signals: &Signals) -> Option<Condition> {
        let any = self.cut_lines().map(|line| self.line(signals, line.at)).collect::<Option<Vec<_>>>()?;
        (!any.is_empty()).then_some(Condition::Any(any))
    }

    /// The lines that give an idle constant.
    fn cut_lines(&self) -> impl Iterator<Item = &ConstantLine<'f>> {
        let idles = |line: &&ConstantLine<'_>| {
            self.idle.zip(line.pulse.as_ref()).is_some_and(|(idle, at)| stands_still_at(idle, at))
        };
        self.constants.iter().filter(idles)
    }

    /// The percent, of -100, 100 and 0, with which a line of its channel idles. `None` where none does, or that is not known.
    pub fn cutting_percent(&self, handset: Option<&Handset>) -> Option<Decimal> {
        let own = subtrim(self.channel);
        let idles = |percent: &Decimal| self.idles_with(own, handset, *percent);
        [-100, 100, 0].map(Decimal::whole).into_iter().find(idles)
    }

    /// Where the subtrim of its channel stands, if a line of so many percent idles without it and not with it.
    pub fn lifting_subtrim(&self, handset: Option<&Handset>, percent: Decimal) -> Option<Span> {
        let stated = self.channel.subtrim?;
        let idles = |subtrim| self.idles_with(subtrim, handset, percent);
        (idles(Decimal::whole(0)) && !idles(stated.value)).then_some(stated.span)
    }

    fn idles_with(&self, subtrim: Decimal, handset: Option<&Handset>, percent: Decimal) -> bool {
        let pulse = constant_pulse(self.channel, subtrim, handset, percent);
        self.idle.zip(pulse).is_some_and(|(idle, pulse)| stands_still_at(idle, &pulse))
    }

    /// Where what it gets at the end of a path is written: the curve of the line that holds there, else that line, else the channel's
    /// header where the channel is one line.
    pub fn written_at(&self, model: &Model, signals: &Signals, path: &Path) -> Span {
        let holds =
            |at: &usize| self.line(signals, *at).and_then(|line| signals.program().holds(path, &line)) == Some(true);
        let held = (0..self.channel.lines.len()).filter(|_| self.channel.lines.len() > 1).find(holds);
        let Some(line) = held.and_then(|at| self.channel.lines.get(at)) else { return self.channel.header };
        match &line.value.kind {
            ValueKind::Curve(name, _) => model.curve(&name.value).map_or(line.span, |curve| curve.header),
            _ => line.span,
        }
    }

    /// The line with this number is the one that holds.
    pub fn line(&self, signals: &Signals, at: usize) -> Option<Condition> {
        let mut all = Vec::with_capacity(at + 1);
        for (index, line) in self.channel.lines.iter().enumerate().take(at + 1) {
            let when = match &line.when {
                Some(when) => signals.lowered().when(when).ok()?,
                None => Condition::Constant(true),
            };
            all.push(if index == at { when } else { Condition::Not(Box::new(when)) });
        }
        Some(Condition::All(all))
    }

    /// The cut of two lines on one two-position switch, where it is one.
    pub fn switch_cut(&self, handset: Option<&Handset>) -> Option<SwitchCut<'f>> {
        let [cut, running] = self.channel.lines.as_slice() else { return None };
        let (Some(when), None, Some(_)) = (&cut.when, &running.when, constant(&cut.value)) else { return None };
        let ConditionKind::Position { control, position, becomes: false } = &when.kind else { return None };
        let kind = handset?.control(&control.value)?.kind;
        let off = kind.position(&position.value).filter(|_| kind.positions() == 2)?;
        Some(SwitchCut { control: &control.value, off: &position.value, on: kind.position_name(1 - off), running })
    }

    /// The switches and buttons of which some position keeps it idle, whatever else is moved, and another lets it run. None where
    /// it is not stated where it idles.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub(super) fn stops(&self, signals: &Signals) -> Result<Vec<Stop>, Why> {
        self.runs().map_or(Ok(Vec::new()), |runs| stops(signals, self.number(), &runs))
    }

    /// The positions of switches that keep it still, and those that a cut hangs on and that don't.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn holds(&self, model: &Model, signals: &Signals, stops: &[Stop]) -> Result<Vec<Hold>, Why> {
        let mut found: Vec<Hold> = Vec::new();
        for stop in stops {
            let holds = stop.stops.iter().map(|&position| Hold { control: stop.control, position, stops: true });
            found.extend(holds);
        }
        for line in self.cut_lines() {
            let Some(in_force) = self.line(signals, line.at) else { continue };
            for control in self.switches(signals) {
                let hangs = self.whens(line.at).any(|when| hangs_on(model, when, signals.name(control)));
                if !hangs || stops.iter().any(|stop| stop.control == control) {
                    continue;
                }
                let cuts = |position| {
                    let at = Condition::At(control, Position::Index(position));
                    signals.program().decide(&Question::is(Condition::All(vec![at, in_force.clone()])))
                };
                let cuts = (0..signals.positions(control)).map(cuts).collect::<Result<Vec<bool>, Why>>()?;
                if cuts.contains(&false) {
                    let on = (0..).zip(&cuts).filter(|(_, cuts)| **cuts);
                    found.extend(on.map(|(position, _)| Hold { control, position, stops: false }));
                }
            }
        }
        Ok(found)
    }

    /// For each of its switches that a cut hangs on: a running state in which no position of the switch stops the motor.
    pub fn not_stopped_by(&self, model: &Model, signals: &Signals) -> Vec<(ControlId, Vec<Question>)> {
        let Some(runs) = self.runs() else { return Vec::new() };
        let hangs = |control: &ControlId| {
            self.cut_lines().any(|line| self.whens(line.at).any(|when| hangs_on(model, when, signals.name(*control))))
        };
        let cuts = self.switches(signals).into_iter().filter(hangs);
        let questions = cuts.map(|control| {
            let from = |at: u8| {
                let here = vec![Condition::At(control, Position::Index(at)), runs.clone()];
                let others = (0..signals.positions(control)).filter(|&to| to != at);
                others.fold(Question::is(Condition::All(here)), |question, to| {
                    question.then_to(control, Setting::Position(to), runs.clone())
                })
            };
            // One that springs back is where it rests before it is moved.
            let rest = signals.springs_to(control);
            let here = (0..signals.positions(control)).filter(|&at| rest.is_none_or(|rest| rest == at));
            (control, here.map(from).collect())
        });
        questions.collect()
    }

    /// The conditions on which the line with this number hangs: its own, or where it has none those of the lines before it.
    fn whens(&self, at: usize) -> impl Iterator<Item = &'f written::Condition> {
        let channel: &'f Channel = self.channel;
        let own = channel.lines.get(at).and_then(|line| line.when.as_ref());
        let before = channel.lines.iter().take(at).filter(move |_| own.is_none());
        own.into_iter().chain(before.filter_map(|line| line.when.as_ref()))
    }

    /// Whether one movement of some axis by itself starts it: a stick, a knob or a slider.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn is_on_an_axis(&self, signals: &Signals) -> Result<bool, Why> {
        let mut starts = false;
        for control in self.named_axes(signals) {
            if let Some(question) = self.started_by(control) {
                starts |= signals.program().decide(&question)?;
            }
        }
        Ok(starts)
    }

    /// The throttle stick, knobs and sliders of which one movement by itself starts it, each with the way to such a start: one with
    /// what springs to a centre there, where there is one. Not the sticks that steer: they are nowhere else before a start.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn axes(&self, signals: &Signals) -> Result<Vec<(ControlId, Path)>, Why> {
        let steer = [Function::Roll, Function::Pitch, Function::Yaw].map(|function| signals.stick(function));
        let mut found = Vec::new();
        for control in self.named_axes(signals).filter(|control| !steer.contains(&Some(*control))) {
            let Some(question) = self.started_by(control) else { continue };
            let at_rest = signals.program().ask(&centred(signals, question.clone()));
            let answer = if at_rest.witness().is_some() { at_rest } else { signals.program().ask(&question) };
            match answer {
                Answer::Yes(witness) => found.push((control, witness.path_then(0))),
                Answer::No(_) => {}
                Answer::NotDecided(why) => return Err(why),
            }
        }
        Ok(found)
    }

    /// The sticks, knobs and sliders that its channel names, also by way of other channels and conditions.
    fn named_axes(&self, signals: &Signals) -> impl Iterator<Item = ControlId> {
        let named = signals.program().mentions(u16::from(self.number())).controls;
        named.into_iter().filter(|&control| signals.is_axis(control))
    }

    /// Does one movement of a control start it?
    pub fn started_by(&self, control: ControlId) -> Option<Question> {
        Some(Question::is(self.idles()?).then(Movers::These(vec![control]), self.runs()?))
    }
}
