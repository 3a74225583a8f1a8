//! Which way sticks move surfaces: by another stick, the wrong way, one way here and the other way there, or hardly at all.

use super::answers::{Answer, Answers, State, has_to_rise, own_sticks};
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{CraftKind, MotorKind, Stick};
use crate::setup::subject::Subject;

/// A stick acts the other way, or hardly, where it does so with this share of its best (common practice, no source).
const COUNTS: f64 = 0.15;

/// A channel that another stick moves than the one that is to.
#[derive(Clone, Copy, Debug)]
pub struct CrossedSurface<'a> {
    /// The channel.
    pub channel: u8,
    /// Where the aircraft says what it moves.
    pub stated: crate::source::Span,
    /// The stick that is to move it.
    pub own: Stick,
    /// The one that does.
    pub other: Stick,
    /// Whether its own stick moves it nowhere.
    pub alone: bool,
    /// Where that is so.
    pub state: &'a State,
    /// What the other stick does.
    pub answer: Answer,
}

/// The surfaces and motors that another stick moves: alone, or more strongly than their own.
pub fn crossed<'a>(subject: &Subject<'_>, surfaces: &Surfaces, answers: &'a Answers) -> Vec<CrossedSurface<'a>> {
    let down = subject.craft.stays_down();
    let mut found = Vec::new();
    for surface in &surfaces.channels {
        let own = own_sticks(subject, surfaces, surface);
        found.extend(one_crossed(answers, surface.channel.value, surface.span, &own));
    }
    // On the ground and the water tracks and motors are driven with whichever sticks the pilot likes.
    let driven = !down && subject.craft.motor.is_none_or(|motor| motor.value != MotorKind::None);
    for motor in surfaces.motors.iter().filter(|_| driven) {
        let crossed = one_crossed(answers, motor.channel.value, motor.span, &[Stick::Throttle]);
        found.extend(crossed.filter(|crossed| crossed.alone));
    }
    found
}

fn one_crossed<'a>(
    answers: &'a Answers,
    channel: u8,
    stated: crate::source::Span,
    own: &[Stick],
) -> Option<CrossedSurface<'a>> {
    let &first = own.first()?;
    let strongest =
        |state: &State| own.iter().map(|&stick| answers.gain(state, channel, stick).abs()).fold(0.0, f64::max);
    let alone = answers.states.iter().all(|state| strongest(state) == 0.0);
    // The brakes of a glider are often on the throttle stick: it counts only where nothing else moves the surface.
    let others =
        Stick::ALL.iter().copied().filter(|stick| !own.contains(stick) && (alone || *stick != Stick::Throttle));
    let stronger = |other: Stick| {
        let state = answers.states.iter().find(|state| answers.gain(state, channel, other).abs() > strongest(state))?;
        let answer = answers.at(state, channel, other)?;
        Some(CrossedSurface { channel, stated, own: first, other, alone, state, answer })
    };
    others.into_iter().find_map(stronger)
}

/// A surface that a stick moves the wrong way wherever it moves it.
#[derive(Clone, Copy, Debug)]
pub struct ReversedSurface<'a> {
    /// The surface.
    pub surface: &'a Surface,
    /// The stick.
    pub stick: Stick,
    /// What the stick does.
    pub answer: Answer,
    /// Where that is so.
    pub state: &'a State,
    /// Whether all its sticks move it the wrong way, so that turning the channel round puts it right.
    pub entirely: bool,
}

/// The surfaces whose direction is stated and that some stick moves the wrong way in every position.
pub fn reversed<'a>(subject: &Subject<'_>, surfaces: &'a Surfaces, answers: &'a Answers) -> Vec<ReversedSurface<'a>> {
    let mut found = Vec::new();
    for surface in &surfaces.channels {
        let channel = surface.channel.value;
        let mut wrong = Vec::new();
        let mut right = false;
        // A servo of a helicopter's head goes up on one side of the swashplate for what another does on the other side.
        let is_head = |stick: &Stick| subject.is(CraftKind::Helicopter) && matches!(stick, Stick::Roll | Stick::Pitch);
        for stick in own_sticks(subject, surfaces, surface).into_iter().filter(|stick| !is_head(stick)) {
            let Some(rises) = has_to_rise(surfaces, surface, stick) else { continue };
            let moved: Vec<&State> =
                answers.states.iter().filter(|state| answers.gain(state, channel, stick) != 0.0).collect();
            let Some(&state) = moved.first() else { continue };
            let is_wrong = |state: &&State| (answers.gain(state, channel, stick) > 0.0) != rises;
            match (moved.iter().all(is_wrong), answers.at(state, channel, stick)) {
                (true, Some(answer)) => wrong.push((stick, answer, state)),
                _ => right = true,
            }
        }
        let of = |(stick, answer, state)| ReversedSurface { surface, stick, answer, state, entirely: !right };
        // One look at the surface tells of all its sticks.
        found.extend(wrong.into_iter().next().map(of));
    }
    found
}

/// A stick that acts one way in one position of the controls, and the other way in another.
#[derive(Clone, Copy, Debug)]
pub struct Turns<'a> {
    /// The channel.
    pub channel: u8,
    /// The stick.
    pub stick: Stick,
    /// Where it acts the usual way, and how: at rest, where it acts there.
    pub usual: (&'a State, Answer),
    /// Where it acts the other way.
    pub turned: (&'a State, Answer),
}

/// Where a stick turns round what a channel does.
pub fn turns<'a>(answers: &'a Answers, channel: u8, stick: Stick) -> Option<Turns<'a>> {
    let gain = |state: &State| answers.gain(state, channel, stick);
    let best = answers.states.iter().map(|state| gain(state).abs()).fold(0.0, f64::max);
    let counts = |state: &&State| gain(state).abs() > best * COUNTS;
    let usual = answers.states.iter().find(counts)?;
    let turned = answers.states.iter().filter(counts).find(|state| gain(state) * gain(usual) < 0.0)?;
    let with = |state: &'a State| Some((state, answers.at(state, channel, stick)?));
    Some(Turns { channel, stick, usual: with(usual)?, turned: with(turned)? })
}

/// A surface that keeps little of what its stick gives at best.
#[derive(Clone, Copy, Debug)]
pub struct Weak<'a> {
    /// The stick.
    pub stick: Stick,
    /// Where little is left.
    pub state: &'a State,
    /// What the stick does there.
    pub answer: Answer,
    /// How much of its best that is, in percent.
    pub percent: f64,
}

/// The most that a channel's own sticks make of it, where that is less than a share, in percent, of a servo's way.
pub fn little<'a>(answers: &'a Answers, channel: u8, sticks: &[Stick], share: f64) -> Option<Weak<'a>> {
    let states = answers.states.iter().flat_map(|state| sticks.iter().map(move |&stick| (state, stick)));
    let found = states.filter_map(|(state, stick)| Some((state, stick, answers.at(state, channel, stick)?)));
    let (state, stick, answer) = found.max_by(|a, b| a.2.gain().abs().total_cmp(&b.2.gain().abs()))?;
    let percent = answer.gain().abs() / (2.0 * answers.span) * 100.0;
    // One that does not move at all has a rule of its own.
    (percent > 0.0 && percent < share).then_some(Weak { stick, state, answer, percent })
}

/// Where a stick moves a channel by less than a share, in percent, of what it does at best.
pub fn weak<'a>(answers: &'a Answers, channel: u8, stick: Stick, share: f64) -> Option<Weak<'a>> {
    let way = |state: &State| answers.at(state, channel, stick).map(|answer| answer.gain().abs());
    let best = answers.states.iter().filter_map(way).fold(0.0, f64::max);
    if best < answers.least {
        return None;
    }
    let left = |state: &State| Some(way(state)? / best * 100.0);
    let state = answers.states.iter().find(|state| left(state).is_some_and(|left| left < share))?;
    Some(Weak { stick, state, answer: answers.at(state, channel, stick)?, percent: left(state)? })
}
