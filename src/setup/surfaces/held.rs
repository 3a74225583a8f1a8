//! What surfaces do while no stick steers: at a lost link, at rest, and with the brakes out.

use super::answers::{Answers, State, named_by};
use crate::fleet::Decimal;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{CraftKind, Stick};
use crate::setup::channel_use::function;
use crate::setup::signals::{Signals, float};
use crate::setup::subject::Subject;
use crate::signal::{ControlId, Handle, Path, Setting, whole};

/// Brakes count as uncompensated where the elevator moves by less than this share of the scale (common practice, no source).
const COMPENSATES: f64 = 0.01;

/// Whether a surface steers and does nothing else, so that it belongs near its middle while no stick is moved.
pub fn only_steers(surface: &Surface) -> bool {
    let steers = |name: &str| Stick::find(name).is_some() || name == "steering";
    surface.functions.iter().all(|name| steers(&name.value))
}

/// How far a pulse is from the middle of the scale, in percent of the way to its end.
pub fn from_middle(answers: &Answers, pulse: Decimal) -> f64 {
    (pulse.to_f64() - answers.centre).abs() / answers.span * 100.0
}

/// How far a surface is from the middle of the scale with everything at rest: the pulse, and percent of the way to the end.
pub fn at_rest(answers: &Answers, surface: &Surface) -> Option<(f64, f64)> {
    let pulse = answers.middle(answers.states.first()?, surface.channel.value)?;
    Some((pulse, (pulse - answers.centre).abs() / answers.span * 100.0))
}

/// Brakes that come out while no elevator moves.
#[derive(Clone, Copy, Debug)]
pub struct Uncompensated<'f, 'a> {
    /// The brake.
    pub brake: &'f Surface,
    /// Where it is out.
    pub state: &'a State,
    /// How far it moves, in percent of the way from where it rests to the end that is further away.
    pub percent: f64,
}

/// A step of an elevator while brakes come out.
#[derive(Clone, Debug)]
pub struct Stepped<'f> {
    /// The brake.
    pub brake: &'f Surface,
    /// The channel of the elevator.
    pub elevator: u8,
    /// What the stick, knob or slider is called that brings the brakes out.
    pub control: ControlId,
    /// How far the elevator jumps, in percent of the whole scale.
    pub percent: f64,
    /// The way to the state behind the step.
    pub path: Path,
}

/// How far apart the positions are at which a stick, knob or slider is looked at while it brings brakes out, in percent.
const SWEEP: usize = 2;

/// The first elevator that jumps by more than a share of the scale, in percent, while a stick, knob or slider brings brakes out, and by
/// several times as much as the brakes move then.
pub fn stepped<'f>(
    subject: &Subject<'_>,
    signals: &Signals,
    surfaces: &'f Surfaces,
    answers: &Answers,
    share: f64,
) -> Option<Stepped<'f>> {
    let elevators = elevators(subject, surfaces)?;
    let steers = [Stick::Roll, Stick::Pitch, Stick::Yaw].map(|stick| signals.stick(function(stick)));
    for brake in surfaces.channels.iter().filter(|surface| surface.is_air_brake()) {
        let axes = named_by(signals, &[brake.channel.value]).into_iter().filter(|&control| signals.is_axis(control));
        for control in axes.filter(|&control| !steers.contains(&Some(control))) {
            let free = |state: &&State| state.held.iter().all(|(held, _)| *held != control);
            let step = answers.states.iter().filter(free).find_map(|state| {
                let path = answers.path(signals, state, None);
                let (to, elevator, percent) =
                    step(signals, &path, control, brake.channel.value, &elevators, answers.span, share)?;
                let path = path.then(control, Setting::Percent(whole(to)));
                Some(Stepped { brake, elevator, control, percent, path })
            });
            if step.is_some() {
                return step;
            }
        }
    }
    None
}

/// Where the control goes behind a path when the first elevator jumps, which that is, and how far it jumps.
fn step(
    signals: &Signals,
    path: &Path,
    control: ControlId,
    brake: u8,
    elevators: &[u8],
    span: f64,
    share: f64,
) -> Option<(i64, u8, f64)> {
    let end = signals.program().end_of(path);
    let places = || (-100..=100).step_by(SWEEP);
    // How far a channel goes from each place to the next, in percent of the whole scale.
    let moves = |channel: u8| -> Vec<Option<f64>> {
        let at = |to: i64| {
            let set = (Handle::Control(control), Setting::Percent(whole(to)));
            end.read_moved(&[set], u16::from(channel))?.received.as_ref().map(float)
        };
        let swept: Vec<Option<f64>> = places().map(at).collect();
        swept.windows(2).map(|next| Some((next[1]? - next[0]?).abs() / (2.0 * span) * 100.0)).collect()
    };
    let jumps: Vec<_> = elevators.iter().map(|&elevator| (elevator, moves(elevator))).collect();
    places().skip(1).zip(moves(brake)).enumerate().find_map(|(at, (to, brakes))| {
        let brakes = brakes?;
        jumps.iter().find_map(|(elevator, jumps)| {
            let jump = jumps.get(at).copied().flatten()?;
            (jump > share && jump > brakes * STEPS).then_some((to, *elevator, jump))
        })
    })
}

/// An elevator steps where it moves so many times as far as the brakes (common practice, no source).
const STEPS: f64 = 3.0;

/// The channels of the elevators that are no brakes; none on a tailless aircraft, whose brakes are its elevator.
fn elevators(subject: &Subject<'_>, surfaces: &Surfaces) -> Option<Vec<u8>> {
    let tail = surfaces.channels.iter().filter(|surface| surface.has("pitch") && !surface.has("brake"));
    let channels: Vec<u8> = tail.map(|surface| surface.channel.value).collect();
    (!channels.is_empty() && !subject.is(CraftKind::FlyingWing)).then_some(channels)
}

/// The first brake that moves by more than a share of its way, in percent, without any movement of an elevator of its own.
pub fn uncompensated<'f, 'a>(
    subject: &Subject<'_>,
    surfaces: &'f Surfaces,
    answers: &'a Answers,
    share: f64,
) -> Option<Uncompensated<'f, 'a>> {
    let elevators = elevators(subject, surfaces)?;
    let still = |state: &State, channel: u8| {
        answers.offset(state, channel).is_none_or(|way| way.abs() < 2.0 * answers.span * COMPENSATES)
    };
    for brake in surfaces.channels.iter().filter(|surface| surface.is_air_brake()) {
        for state in &answers.states {
            let Some(way) = answers.offset(state, brake.channel.value) else { continue };
            let Some((_, from)) = at_rest(answers, brake) else { continue };
            let percent = way.abs() / (answers.span * (1.0 + from / 100.0)) * 100.0;
            // Where the same controls stand elsewhere and move one, there is a compensation, which may be a step.
            let held = |state: &State| state.held.iter().map(|(control, _)| *control).collect::<Vec<_>>();
            let mut alike = answers.states.iter().filter(|other| held(other) == held(state));
            if percent > share && alike.all(|other| elevators.iter().all(|&channel| still(other, channel))) {
                return Some(Uncompensated { brake, state, percent });
            }
        }
    }
    None
}
