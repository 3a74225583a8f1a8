//! What the surfaces of an aircraft do together, and what they lack.
//!
//! | file | holds |
//! |---|---|
//! | `answers` | what each stick does to each surface in each position of the controls, and which way is right |
//! | `attitude` | what surfaces that are held somewhere ask of the whole aircraft |
//! | `directions` | surfaces that another stick moves, or the wrong way, or hardly |
//! | `pairs` | what the left and the right surface do together |
//! | `held` | what surfaces do while no stick steers |
//! | `mixes` | what is mixed to a surface beside its own stick |
//! | `positions` | what the positions of a switch, or the way of a stick, do one after the other |
//! | `seen` | what each surface does in each flight mode, as a pilot sees it |
//! | `slowed` | surfaces and motors that take their time |
//! | `spool` | the pitch of a helicopter's blades where its motor starts |
//! | `hover` | the control that changes between hovering and flying as a wing |

pub mod answers;
pub mod attitude;
pub mod directions;
pub mod held;
pub mod hover;
pub mod mixes;
pub mod pairs;
pub mod positions;
pub mod seen;
pub mod slowed;
pub mod spool;
#[cfg(test)]
mod tests;

use self::answers::Answers;
use super::channel_use::{function, sticks};
use super::signals::{Signals, float};
use super::subject::Subject;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::table::lists::FUNCTIONS;
use crate::fleet::words::{CraftKind, Stick};
use crate::signal::{Handle, Setting, whole};

/// How far a stick is moved from its centre to see what a surface answers, in percent.
const NUDGE: i64 = 50;

/// Two mixes count as the same where the sine of the angle between them is less than this (common practice, no source).
const ALIKE_BELOW: f64 = 0.1;

/// Two surfaces that share two functions and do only one of them.
#[derive(Clone, Copy, Debug)]
pub struct AlikeSurfaces<'f> {
    /// The surfaces.
    pub surfaces: [&'f Surface; 2],
    /// The functions that both are said to have.
    pub functions: [Stick; 2],
    /// The one of them that works.
    pub kept: Stick,
    /// The one that does not.
    pub lost: Stick,
    /// Whether the stick of the lost function moves neither surface, anywhere; else they work against each other in it.
    pub unmoved: bool,
}

/// Pairs of surfaces that share two functions, roll and pitch or pitch and yaw, and move alike, or exactly against each other,
/// with both sticks; or that one of the sticks does not move at all.
pub fn alike_surfaces<'f>(subject: &Subject<'f>, signals: &Signals) -> Vec<AlikeSurfaces<'f>> {
    let Some(surfaces) = subject.craft.surfaces.as_ref() else { return Vec::new() };
    let answers = signals.answers(surfaces);
    let mut found = Vec::new();
    for (at, first) in surfaces.channels.iter().enumerate() {
        for second in surfaces.channels.iter().skip(at + 1) {
            found.extend(alike(signals, answers, first, second));
        }
    }
    found
}

/// Whether two surfaces of an aircraft mix two sticks each.
pub fn has_mixed_pair(surfaces: &Surfaces) -> bool {
    let sticks = |surface: &Surface| surface.functions.iter().filter(|name| Stick::find(&name.value).is_some()).count();
    surfaces.channels.iter().filter(|surface| sticks(surface) > 1).count() > 1
}

fn alike<'f>(
    signals: &Signals,
    answers: &Answers,
    first: &'f Surface,
    second: &'f Surface,
) -> Option<AlikeSurfaces<'f>> {
    // Two surfaces of one side are to move alike.
    if let (Some(one), Some(other)) = (first.side, second.side)
        && one.value == other.value
    {
        return None;
    }
    let shared = first.functions.iter().filter(|name| second.has(&name.value));
    let shared: Vec<Stick> = shared.filter_map(|name| Stick::find(&name.value)).collect();
    let &[one, other] = shared.as_slice() else { return None };
    let (a, b) = (first.channel.value, second.channel.value);
    let found = |kept, lost, unmoved| {
        Some(AlikeSurfaces { surfaces: [first, second], functions: [one, other], kept, lost, unmoved })
    };
    let moved = |stick: Stick| {
        [a, b].map(|channel| answers.states.iter().any(|state| answers.gain(state, channel, stick) != 0.0))
    };
    // What no stick moves is missing, and works nowhere. Where only one surface answers, other rules speak.
    match (moved(one), moved(other)) {
        ([true, true], [false, false]) => return found(one, other, true),
        ([false, false], [true, true]) => return found(other, one, true),
        ([true, true], [true, true]) => {}
        _ => return None,
    }
    let (aa, ab) = (answer(signals, one, a)?, answer(signals, other, a)?);
    let (ba, bb) = (answer(signals, one, b)?, answer(signals, other, b)?);
    let size = aa.hypot(ab) * ba.hypot(bb);
    if size == 0.0 || ((aa * bb - ab * ba) / size).abs() > ALIKE_BELOW {
        return None;
    }
    // In pitch both sides go the same way, in roll and in yaw against each other.
    let (same, against) = if one == Stick::Pitch { (one, other) } else { (other, one) };
    let goes_same = aa * ba + ab * bb > 0.0;
    let (kept, lost) = if goes_same != are_mirrored(first, second) { (same, against) } else { (against, same) };
    found(kept, lost, false)
}

/// Whether a rising pulse is stated to move two surfaces opposite ways.
fn are_mirrored(first: &Surface, second: &Surface) -> bool {
    matches!((first.high_is, second.high_is), (Some(one), Some(other)) if one.value != other.value)
}

/// How far a stick moves what arrives on a channel, in microseconds, while all else rests.
fn answer(signals: &Signals, stick: Stick, channel: u8) -> Option<f64> {
    let control = signals.stick(function(stick))?;
    let arrives = |percent| {
        let set = (Handle::Control(control), Setting::Percent(whole(percent)));
        signals.program().read_with(&[set], u16::from(channel))?.received.as_ref().map(float)
    };
    Some(arrives(NUDGE)? - arrives(-NUDGE)?)
}

/// What the surfaces of an aircraft lack.
#[derive(Clone, Copy, Debug)]
pub struct Lacking<'f> {
    /// The surfaces.
    pub surfaces: &'f Surfaces,
    /// The functions of which the aircraft needs one, and none of its surfaces has any.
    pub functions: &'static [&'static str],
    /// Whether its motors might have steered it.
    pub motors: bool,
}

impl Lacking<'_> {
    /// Whether there are aircraft of this kind that are complete without it: a rotor of fixed blades lifts by its speed.
    pub fn may_be_wanted(&self) -> bool {
        self.functions == COLLECTIVE
    }
}

/// What turns an aircraft about its upright axis.
const TURNS: &[&str] = &["yaw", "tail", "steering"];

/// What a helicopter rises by.
const COLLECTIVE: &[&str] = &["collective"];

/// What an aircraft of this kind without a flight controller can't do without, and none of its surfaces has. An aeroplane may be
/// flown with rudder and elevator, or without a rudder; two motors that something drives apart steer on the ground and the water.
pub fn lacking<'f>(subject: &Subject<'f>, signals: Option<&Signals>) -> Option<Lacking<'f>> {
    let craft = subject.craft;
    if craft.controller.is_some() {
        return None;
    }
    let (surfaces, kind) = (craft.surfaces.as_ref()?, craft.kind?);
    let needed: &[&'static [&'static str]] = match kind.value {
        CraftKind::Aeroplane | CraftKind::Glider | CraftKind::Autogyro => &[&["pitch"], &["roll", "yaw"]],
        CraftKind::FlyingWing => &[&["pitch"], &["roll"]],
        CraftKind::Helicopter => &[&["pitch"], &["roll"], &["tail", "yaw"], COLLECTIVE],
        CraftKind::Car | CraftKind::Tracked | CraftKind::Boat | CraftKind::Hovercraft => &[&["steering", "yaw"]],
        CraftKind::Multirotor | CraftKind::Vtol => &[],
    };
    // One word for turning stands for another.
    let is_one = |wanted: &str, had: &str| wanted == had || (TURNS.contains(&wanted) && TURNS.contains(&had));
    let has = |wanted: &&str| {
        surfaces.channels.iter().any(|surface| surface.functions.iter().any(|name| is_one(wanted, &name.value)))
    };
    // A name of the pilot's own may mean anything.
    let mut names = surfaces.channels.iter().flat_map(|surface| &surface.functions);
    if names.any(|name| !FUNCTIONS.contains(&name.value.as_str())) {
        return None;
    }
    let functions = needed.iter().find(|any| !any.iter().any(has))?;
    let motors = kind.value.stays_down() && surfaces.motors.len() > 1;
    (!motors || !may_steer(subject, surfaces, signals)).then_some(Lacking { surfaces, functions, motors })
}

/// Whether motors may be driven apart: a stick other than the throttle stands in the value of one, something drives them apart in a
/// state that is looked at, or it is not known, since no state was seen in which a stick drives them. Where a stick that steers moves
/// them alike, the rule about two sides tells.
fn may_steer(subject: &Subject<'_>, surfaces: &Surfaces, signals: Option<&Signals>) -> bool {
    let Some(signals) = signals else { return true };
    let motors: Vec<u8> = surfaces.motors.iter().map(|motor| motor.channel.value).collect();
    let steers = [Stick::Roll, Stick::Pitch, Stick::Yaw];
    let named = |&channel: &u8| {
        let named = sticks(subject.model, subject.handset, channel);
        steers.iter().any(|stick| named.contains(stick))
    };
    if motors.iter().any(named) {
        return true;
    }
    let answers = signals.answers(surfaces);
    let apart = |ways: &[f64]| ways.iter().any(|way| ways.iter().any(|other| (way - other).abs() > answers.least));
    let mut driven = false;
    for state in &answers.states {
        let gain = |channel: &u8| answers.gain(state, *channel, Stick::Throttle);
        let ways: Vec<f64> = motors.iter().map(gain).collect();
        driven |= ways.iter().all(|way| *way != 0.0);
        let offsets = motors.iter().map(|&channel| answers.offset(state, channel));
        let offsets = offsets.collect::<Option<Vec<f64>>>();
        if apart(&ways) || offsets.is_none_or(|ways| apart(&ways)) {
            return true;
        }
    }
    !driven
}
