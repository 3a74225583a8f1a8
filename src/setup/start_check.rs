//! What `before-start` demands, and which controls that start a motor it looks at.

use super::channel_use::sticks;
use super::motors::{Motor, resting};
use super::signals::Signals;
use super::stick_way::centred;
use super::stop::Stop;
use super::subject::Subject;
use super::terms::{hangs_on, names_condition};
use crate::fleet::model::{BeforeStart, Channel, NamedCondition, NamedKind};
use crate::fleet::words::{AxisPosition, CraftKind, Stick};
use crate::signal::{Condition, ControlId, Function, Handle, Kept, Path, Question, Setting, Why, whole};
use crate::source::{Place, Span};
use compact_str::CompactString;

/// What `before-start` demands of the controls.
pub(super) fn demands(subject: &Subject<'_>, signals: &Signals) -> Vec<(ControlId, Setting)> {
    let demands = subject.model.before_start.iter().filter_map(|start| {
        let control = signals.lowered().control(&start.control.value)?;
        let setting = match signals.is_axis(control) {
            true => Setting::Percent(whole(percent_of(&start.position.value)?)),
            false => Setting::Position(signals.lowered().position(control, &start.position.value)?),
        };
        Some((control, setting))
    });
    demands.collect()
}

/// Where an axis stands that is low, centred or high, in percent.
fn percent_of(place: &str) -> Option<i64> {
    AxisPosition::find(place).map(AxisPosition::percent)
}

/// Where the pilot leaves the throttle, in percent: its lowest, but for a motor that can run backwards where it springs to, or what the
/// start check asks for. `None` for such a motor where it is not stated.
pub(super) fn throttle_rest(subject: &Subject<'_>, motor: &Motor<'_>) -> Option<i64> {
    if !motor.reversible {
        return Some(-100);
    }
    let name = subject.stick_name(Stick::Throttle);
    let mut asked = subject.model.before_start.iter().filter(|start| start.control.value == name);
    let asked = asked.find_map(|start| percent_of(&start.position.value));
    match subject.handset.and_then(|handset| handset.throttle_springs()) {
        Some(true) => Some(0),
        Some(false) => Some(asked.unwrap_or(-100)),
        None => asked,
    }
}

/// Whether a motor stands still where the throttle springs to by itself. `None` where it is not stated whether it springs, for a motor
/// that may be meant to stand still in the middle, or where that was not decided.
pub(super) fn stands_still_at_rest(subject: &Subject<'_>, signals: &Signals, motor: &Motor<'_>) -> Option<bool> {
    match subject.handset.and_then(|handset| handset.throttle_springs()) {
        Some(false) => Some(false),
        None => (!motor.reversible).then_some(false),
        // `throttle/neutral-reverse` tells where such a motor does not.
        Some(true) if motor.reversible => Some(true),
        Some(true) => {
            let still = motor.stands_still(subject.handset)?;
            let moves = Question::is(Condition::Not(Box::new(still)));
            let question = centred(signals, resting(signals, moves, 0, false)?);
            signals.program().decide(&question).ok().map(|moves| !moves)
        }
    }
}

/// A stick, knob or slider that moves a motor, and that the start check does not ask for where the motor stands still.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Driver {
    /// Its name.
    pub control: CompactString,
    /// Where the motor stands still: low, centre or high.
    pub idle: &'static str,
}

/// The sticks, knobs and sliders that move motors and stay where they are put, without those that the start check asks for where
/// the motor stands still; the reason and the channel where that was not decided.
pub(super) fn drivers(
    subject: &Subject<'_>,
    signals: Option<&Signals>,
    motors: &[Motor<'_>],
) -> Result<Vec<Driver>, (Why, Place)> {
    // Each with whether the start check asks for it where one of its motors stands still.
    let mut found: Vec<(Driver, bool)> = Vec::new();
    let mut add = |control: &str, idle, stills: &dyn Fn(&str) -> bool| {
        let mut asked = subject.model.before_start.iter().filter(|start| start.control.value == control);
        let asked = asked.any(|start| stills(&start.position.value));
        match found.iter_mut().find(|(known, _)| known.control == control) {
            Some((_, known)) => *known |= asked,
            None => found.push((Driver { control: control.into(), idle }, asked)),
        }
    };
    for motor in motors {
        let at = |why| (why, subject.in_model(motor.channel.header));
        match signals.zip(motor.idles()) {
            Some((signals, idles)) => {
                let axes = motor.axes(signals).map_err(at)?;
                let throttle = signals.stick(Function::Throttle);
                let is_driven = axes.iter().any(|(control, _)| Some(*control) == throttle);
                for (control, path) in axes {
                    // What moves a motor beside the throttle stick has a rule of its own.
                    let is_throttle = throttle == Some(control);
                    if is_driven && !is_throttle {
                        continue;
                    }
                    // So is a knob or slider that springs back, as long as the motor stands still there.
                    let kind = subject.handset.and_then(|handset| handset.control(signals.name(control)));
                    if kind.is_some_and(|control| control.kind.springs()) {
                        continue;
                    }
                    if is_throttle && stands_still_at_rest(subject, signals, motor) != Some(false) {
                        continue;
                    }
                    // One that only lets a switch run the motor, such as a brake lever that is in, gives it no power.
                    if is_throttle && motor.is_let_run_by_throttle(signals, &path) {
                        continue;
                    }
                    // One that springs back to where the motor runs can't be asked for anywhere else, and has a rule of its own.
                    let springs = subject.handset.and_then(|handset| handset.throttle_springs()) == Some(true);
                    if is_throttle && springs && subject.craft.controller.is_none() {
                        continue;
                    }
                    let still = |place: AxisPosition| {
                        let path = path.clone().then(control, Setting::Percent(whole(place.percent())));
                        signals.program().holds(&path, &idles) == Some(true)
                    };
                    let idle = AxisPosition::ALL.iter().copied().find(|place| still(*place));
                    let idle = idle.unwrap_or(AxisPosition::Low);
                    // Where the motor runs at each of them, the start check can do no more than ask for the lowest.
                    let named = |word: &str| word == idle.word() || AxisPosition::find(word).is_some_and(&still);
                    add(signals.name(control), idle.word(), &named);
                }
            }
            None if !motor.reversible
                && sticks(subject.model, subject.handset, motor.number()).contains(&Stick::Throttle) =>
            {
                add(subject.stick_name(Stick::Throttle), "low", &|word| word == "low");
            }
            None => {}
        }
    }
    Ok(found.into_iter().filter(|(_, asked)| !asked).map(|(driver, _)| driver).collect())
}

/// The throttle, where some channel carries it and the start check does not ask for it.
pub(super) fn any_driver(subject: &Subject<'_>) -> Vec<Driver> {
    let model = subject.model;
    let throttle = subject.stick_name(Stick::Throttle);
    let asked = model.before_start.iter().any(|start| start.control.value == throttle);
    let carries = |channel: &Channel| sticks(model, subject.handset, channel.number.value).contains(&Stick::Throttle);
    let driver = Driver { control: throttle.into(), idle: "low" };
    Vec::from_iter((!asked && model.channels.iter().any(carries)).then_some(driver))
}

/// Whether a motor runs when the handset is turned on with its switches where they let it run, whatever the throttle.
pub(super) fn runs_at_start(signals: &Signals, motor: &Motor<'_>, stops: &[Stop]) -> bool {
    let Some(idles) = motor.idles() else { return false };
    let live: Vec<_> =
        stops.iter().filter_map(|stop| Some((stop.control, Setting::Position(*stop.lets.last()?)))).collect();
    let stands = stops.iter().flat_map(|stop| stop.lets.iter().map(|&at| (stop.control, Setting::Position(at))));
    let mut stands = stands.flat_map(|one| [-100, 100].map(|percent| (one, percent)));
    stands.any(|(one, percent)| {
        let throttle = signals.stick(Function::Throttle).map(|stick| (stick, Setting::Percent(whole(percent))));
        let sets: Vec<_> = live.iter().copied().chain([one]).chain(throttle).collect();
        signals.program().holds(&Path::at(signals.start(&sets)), &idles) == Some(false)
    })
}

/// The switches and buttons that start a motor, or may.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Starters {
    /// Those at which nobody looks before the start.
    pub free: Vec<ControlId>,
    /// Those of a helicopter at which the start check looks, while nothing else keeps its motor still.
    pub checked: Vec<ControlId>,
    /// The motor runs on switches alone: what starts it is no cut that is let go.
    pub guards: bool,
    /// Those of which each has to be on before the motor runs, and at which the start check looks: a motor's switch and its safety.
    pub guarded: Vec<ControlId>,
}

/// The switches that may start a motor, without those with which that is in order: those of a helicopter (hold, idle-up, governor),
/// and two that both have to be on before a motor runs that no stick drives. The start check has to ask for the position of each
/// that does not start it, and some position has to keep the motor still.
pub(super) fn starters(
    subject: &Subject<'_>,
    signals: &Signals,
    motor: &Motor<'_>,
    stops: &[Stop],
    lifted: &Condition,
) -> Result<Starters, Why> {
    let demands = demands(subject, signals);
    let asked = |stop: &Stop| {
        let mut positions = stop.stops.iter().map(|&at| (stop.control, Setting::Position(at)));
        positions.any(|position| demands.contains(&position))
    };
    let on_switches = !motor.is_on_an_axis(signals)?;
    let guarded = on_switches && stops.len() > 1;
    let (mut free, mut checked, mut behind) = (Vec::new(), Vec::new(), Vec::new());
    for control in motor.switches(signals) {
        let demanded = demands.iter().find(|(known, _)| *known == control);
        if guarded && stops.iter().all(asked) {
            behind.push(control);
            continue;
        }
        // At a helicopter's throttle hold another rule looks.
        if subject.is(CraftKind::Helicopter) && stops.iter().any(|stop| stop.control == control) {
            continue;
        }
        let harmless = match demanded.filter(|_| subject.is(CraftKind::Helicopter)).zip(motor.idles()) {
            Some((&(_, to), idles)) => {
                !signals.program().decide(&Question::is(idles).then_to(control, to, lifted.clone()))?
            }
            None => false,
        };
        match (harmless, stops.is_empty()) {
            (true, false) => {}
            (true, true) => checked.push(control),
            (false, _) => free.push(control),
        }
    }
    Ok(Starters { free, checked, guards: on_switches && !guarded, guarded: behind })
}

/// A start check of another switch that stands in the `set` of a latch on which a motor's lines hang, where the latch is reset by
/// this switch and not by that one; with the latch.
pub(super) fn latched_by_another<'f>(
    subject: &Subject<'f>,
    signals: &Signals,
    motor: &Motor<'_>,
    control: ControlId,
) -> Option<(&'f BeforeStart, Span)> {
    let model = subject.model;
    let whens: Vec<_> = motor.channel.lines.iter().filter_map(|line| line.when.as_ref()).collect();
    let resets = |named: &&'f NamedCondition| match &named.kind {
        NamedKind::Latch { reset, .. } => hangs_on(model, reset, signals.name(control)),
        _ => false,
    };
    let latch = model
        .conditions
        .iter()
        .filter(resets)
        .find(|named| whens.iter().any(|when| names_condition(model, when, &named.name.value)))?;
    let NamedKind::Latch { set, reset } = &latch.kind else { return None };
    let is_switch = |name: &str| subject.handset.is_some_and(|handset| handset.control(name).is_some());
    let other = model.before_start.iter().find(|start| {
        let name = start.control.value.as_str();
        is_switch(name) && hangs_on(model, set, name) && !hangs_on(model, reset, name)
    })?;
    Some((other, latch.span))
}

/// For a helicopter whose throttle hold is let go, in the flight mode that the start check asks for and with the stick at its lowest:
/// does its motor idle, and does it run?
pub(super) fn let_go(
    subject: &Subject<'_>,
    signals: &Signals,
    motor: &Motor<'_>,
    stops: &[Stop],
) -> Option<[Question; 2]> {
    let cut = motor.cut(signals).filter(|_| subject.is(CraftKind::Helicopter))?;
    let demands = demands(subject, signals);
    let stops_it = |control: ControlId, setting: Setting| {
        let mut stops = stops.iter().filter(|stop| stop.control == control);
        stops.any(|stop| stop.stops.iter().any(|&at| Setting::Position(at) == setting))
    };
    let switches = demands.into_iter().filter(|&(control, _)| signals.positions(control) > 0);
    let modes: Vec<_> = switches.filter(|&(control, setting)| !stops_it(control, setting)).collect();
    let asked = |state: Condition| {
        let here = Condition::All(vec![state, Condition::Not(Box::new(cut.clone()))]);
        let question = resting(signals, Question::is(here), -100, false)?;
        let kept = |question: Question, &(control, setting): &(ControlId, Setting)| {
            question.keeping(Handle::Control(control), Kept::At(setting))
        };
        Some(modes.iter().fold(question, kept))
    };
    Some([asked(motor.idles()?)?, asked(motor.runs()?)?])
}
