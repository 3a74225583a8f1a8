//! What surfaces do while no stick steers: at a lost link, at rest, and with the brakes out.

use super::answers::{Answers, State};
use crate::fleet::Decimal;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{CraftKind, Stick};
use crate::setup::subject::Subject;

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
    let pulse = answers.at(answers.states.first()?, surface.channel.value, Stick::Roll)?.middle;
    Some((pulse, (pulse - answers.centre).abs() / answers.span * 100.0))
}

/// Brakes that come out while no elevator moves.
#[derive(Clone, Copy, Debug)]
pub struct Uncompensated<'f, 'a> {
    /// The brake.
    pub brake: &'f Surface,
    /// Where it is out.
    pub state: &'a State,
    /// How far it moves, in percent of the whole scale.
    pub percent: f64,
}

/// The first brake that moves by more than a share of the scale, in percent, without any movement of an elevator of its own.
pub fn uncompensated<'f, 'a>(
    subject: &Subject<'_>,
    surfaces: &'f Surfaces,
    answers: &'a Answers,
    share: f64,
) -> Option<Uncompensated<'f, 'a>> {
    // Brakes on the wing of a tailless aircraft are its elevator.
    let tail = |surface: &&Surface| surface.has("pitch") && !surface.has("brake");
    let elevators: Vec<u8> = surfaces.channels.iter().filter(tail).map(|surface| surface.channel.value).collect();
    if elevators.is_empty() || subject.is(CraftKind::FlyingWing) {
        return None;
    }
    let still = |state: &State, channel: u8| {
        answers.offset(state, channel).is_none_or(|way| way.abs() < 2.0 * answers.span * COMPENSATES)
    };
    for brake in surfaces.channels.iter().filter(|surface| surface.has("brake")) {
        for state in answers.states.iter().filter(|state| state.held.len() == 1) {
            let Some(way) = answers.offset(state, brake.channel.value) else { continue };
            let percent = way.abs() / (2.0 * answers.span) * 100.0;
            if percent > share && elevators.iter().all(|&channel| still(state, channel)) {
                return Some(Uncompensated { brake, state, percent });
            }
        }
    }
    None
}
