//! What asks to arm, what ends it, and the positions in which nothing asks.

use super::motors::Motor;
use super::signals::Signals;
use super::start_check::demands;
use super::stop::Stop;
use super::subject::Subject;
use crate::signal::{Condition, ControlId, Path, Position, Question, Setting, Stand, Why};
use crate::source::Place;
use compact_str::CompactString;
use rustc_hash::FxHashMap;

/// More combinations of arming controls than this are not looked at.
const MOST_COMBINATIONS: usize = 64;

/// The request to arm over one link: the signal path of a subject whose controller has a `mode arm`.
#[derive(Debug)]
pub struct Arming<'p> {
    /// The signal path.
    pub signals: &'p Signals,
    /// It asks to arm.
    pub asks: Condition,
    /// It does not.
    pub quiet: Condition,
    /// The first channel of `mode arm`.
    pub channel: u8,
    /// The header of that channel.
    pub place: Place,
}

impl<'p> Arming<'p> {
    pub(super) fn of(subject: &Subject<'_>, signals: &'p Signals) -> Option<Self> {
        let channel = subject.craft.controller.as_ref()?.arm_mode()?.tests().next()?.channel.value;
        let asks = signals.asks()?;
        let quiet = Condition::Not(Box::new(asks.clone()));
        Some(Self { signals, asks, quiet, channel, place: subject.channel_place(channel) })
    }

    /// Whether a start asks to arm; `None` where a pulse is not known.
    pub fn asks_at(&self, stand: Stand) -> Option<bool> {
        self.signals.program().holds(&Path::at(stand), &self.asks)
    }

    /// For each of some controls a position that does not ask to arm when everything else is as `before-start` demands, else at
    /// rest. Switches that stay where they are put come first.
    pub fn quiet_positions(&self, subject: &Subject<'_>, controls: &[ControlId]) -> Vec<(ControlId, u8)> {
        let signals = self.signals;
        let stays = |control: ControlId| {
            let kind = subject.handset.and_then(|handset| handset.control(signals.name(control)));
            kind.is_some_and(|control| !control.kind.springs())
        };
        let mut found = Vec::new();
        for &control in controls {
            let quiet = (0..signals.positions(control)).find(|&position| {
                let mut demands = demands(subject, signals);
                demands.retain(|(known, _)| *known != control);
                demands.push((control, Setting::Position(position)));
                self.asks_at(signals.start(&demands)) == Some(false)
            });
            found.extend(quiet.map(|position| (control, position)));
        }
        found.sort_by_key(|&(control, _)| !stays(control));
        found
    }

    /// For each combination of positions of some controls: is there a state that asks there, and still asks after any single
    /// movement of one of them? None without controls, or where the combinations are too many to look at.
    pub fn held_fast(&self, controls: &[ControlId]) -> Vec<Question> {
        let counts: Vec<u8> = controls.iter().map(|&control| self.signals.positions(control)).collect();
        let all: usize = counts.iter().map(|&count| usize::from(count)).product();
        if controls.is_empty() || all > MOST_COMBINATIONS {
            return Vec::new();
        }
        let question = |combination: usize| {
            let mut rest = combination;
            let mut state = vec![self.asks.clone()];
            let mut others = Vec::new();
            for (&control, &count) in controls.iter().zip(&counts) {
                let position = (rest % usize::from(count)) as u8;
                rest /= usize::from(count);
                state.push(Condition::At(control, Position::Index(position)));
                others.extend((0..count).filter(|&to| to != position).map(|to| (control, to)));
            }
            others.into_iter().fold(Question::is(Condition::All(state)), |question, (control, to)| {
                question.then_to(control, Setting::Position(to), self.asks.clone())
            })
        };
        (0..all).map(question).collect()
    }

    /// Does some state that does not ask, with a control at `dead` where that is given, ask once the control is moved to either
    /// of two positions?
    pub fn at_both(&self, control: ControlId, (low, high): (u8, u8), dead: Option<u8>) -> Question {
        let mut state = vec![self.quiet.clone()];
        state.extend(dead.map(|dead| Condition::At(control, Position::Index(dead))));
        Question::is(Condition::All(state)).then_to(control, Setting::Position(low), self.asks.clone()).then_to(
            control,
            Setting::Position(high),
            self.asks.clone(),
        )
    }

    /// Two positions of a control with another between them, each with those between: `(low, high, between)`.
    pub fn around_another(&self, control: ControlId) -> Vec<(u8, u8, u8)> {
        let count = self.signals.positions(control);
        let between = (1..count.saturating_sub(1))
            .flat_map(|dead| (0..dead).flat_map(move |low| (dead + 1..count).map(move |high| (low, high, dead))));
        between.collect()
    }

    /// Every two positions of a control.
    pub fn two_positions(&self, control: ControlId) -> Vec<(u8, u8)> {
        let count = self.signals.positions(control);
        (0..count).flat_map(|low| (low + 1..count).map(move |high| (low, high))).collect()
    }
}

/// What a control does to the request to arm, or to a motor that it cuts, for comparing aircraft of one handset.
#[derive(Clone, Debug)]
pub struct Arms {
    /// The handset's name.
    pub handset: CompactString,
    /// The arming control's name.
    pub control: CompactString,
    /// Positions to which a movement starts the asking.
    pub starts: Vec<CompactString>,
    /// Positions to which a movement ends it.
    pub stops: Vec<CompactString>,
    /// The model and the aircraft.
    pub model: CompactString,
    /// The aircraft.
    pub craft: CompactString,
    /// The header of the channel of the request, or of the motor.
    pub place: Place,
    /// It cuts a motor; else it asks to arm.
    pub cuts: bool,
}

impl Arms {
    /// Whether a movement does the same here and there.
    pub fn is_alike(&self, other: &Self) -> bool {
        self.starts == other.starts && self.stops == other.stops
    }

    /// The position that starts this aircraft and only stops another, where another position does it the other way round.
    pub fn crossed(&self, other: &Self) -> Option<&CompactString> {
        let only = |one: &Self, other: &Self, position: &CompactString| {
            one.starts.contains(position) && other.stops.contains(position)
        };
        let here = |position: &&CompactString| only(self, other, position) && !other.starts.contains(*position);
        let there = |position: &CompactString| only(other, self, position) && !self.starts.contains(position);
        self.starts.iter().find(here).filter(|_| other.starts.iter().any(there))
    }
}

/// What the arming controls do; the reason where that was not decided.
pub(super) fn arms(subject: &Subject<'_>, signals: &Signals) -> Result<Vec<Arms>, Why> {
    let (Some(&channel), Some(handset)) = (subject.arm_channels().first(), &subject.model.handset) else {
        return Ok(Vec::new());
    };
    let Some(asks) = signals.asks() else { return Ok(Vec::new()) };
    let quiet = Condition::Not(Box::new(asks.clone()));
    let arms = signals.arming_controls()?.iter().map(|&control| {
        let to = |from: &Condition, reach: &Condition| {
            let mut names = Vec::new();
            for position in 0..signals.positions(control) {
                let question = Question::is(from.clone()).then_to(control, Setting::Position(position), reach.clone());
                if signals.program().decide(&question)? {
                    names.push(signals.position_name(control, position));
                }
            }
            Ok(names)
        };
        Ok(Arms {
            handset: handset.value.clone(),
            control: signals.name(control).into(),
            starts: to(&quiet, &asks)?,
            stops: to(&asks, &quiet)?,
            model: subject.model.head.name.value.clone(),
            craft: subject.craft.head.name.value.clone(),
            place: subject.channel_place(channel),
            cuts: false,
        })
    });
    arms.collect()
}

/// What the switches do that cut a motor and don't ask to arm, each once; the reason where that was not decided.
pub(super) fn cuts(
    subject: &Subject<'_>,
    signals: &Signals,
    motors: &[Motor<'_>],
    stops: &[Result<Vec<Stop>, Why>],
) -> Result<Vec<Arms>, Why> {
    let Some(handset) = &subject.model.handset else { return Ok(Vec::new()) };
    let arming = signals.arming_controls()?;
    let mut cuts: Vec<Arms> = Vec::new();
    for (motor, stops) in motors.iter().zip(stops) {
        for stop in stops.as_ref().map_err(|why| *why)? {
            let control = signals.name(stop.control);
            if arming.contains(&stop.control) || cuts.iter().any(|known| known.control == control) {
                continue;
            }
            let names =
                |positions: &[u8]| positions.iter().map(|&at| signals.position_name(stop.control, at)).collect();
            cuts.push(Arms {
                handset: handset.value.clone(),
                control: control.into(),
                starts: names(&stop.lets),
                stops: names(&stop.stops),
                model: subject.model.head.name.value.clone(),
                craft: subject.craft.head.name.value.clone(),
                place: subject.in_model(motor.channel.header),
                cuts: true,
            });
        }
    }
    Ok(cuts)
}

/// An aircraft that uses a control the other way round than another of the same handset.
#[derive(Clone, Copy, Debug)]
pub struct OtherWay<'a> {
    /// What the control does here.
    pub arm: &'a Arms,
    /// What it does there.
    pub other: &'a Arms,
    /// The position that starts this one and stops the other.
    pub position: &'a CompactString,
}

/// Each aircraft that uses a control the other way round than another before it: one that asks to arm is held against others that
/// do, then against those that cut a motor. There are few ways to use a control, however many aircraft there are, so that each is
/// held only against the first of each way.
pub fn other_ways<'a>(arms: &[&'a Arms]) -> Vec<OtherWay<'a>> {
    type Ways<'a> = Vec<(&'a Arms, Option<&'a Arms>)>;
    let mut ways: FxHashMap<(&str, &str), Ways<'a>> = FxHashMap::default();
    let mut found = Vec::new();
    for &arm in arms {
        let known = ways.entry((&arm.handset, &arm.control)).or_default();
        let other = match known.iter().find(|(alike, _)| alike.cuts == arm.cuts && alike.is_alike(arm)) {
            Some((_, other)) => *other,
            None => {
                let crossed = |cuts: bool| {
                    let mut firsts = known.iter().map(|(first, _)| *first).filter(|first| first.cuts == cuts);
                    firsts.find(|first| arm.crossed(first).is_some())
                };
                let other = crossed(arm.cuts).or_else(|| crossed(!arm.cuts));
                known.push((arm, other));
                other
            }
        };
        found.extend(other.and_then(|other| Some(OtherWay { arm, other, position: arm.crossed(other)? })));
    }
    found
}
