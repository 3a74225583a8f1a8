//! What surfaces that are held somewhere ask of the whole aircraft: how much of a full stick that comes to.
//!
//! An aileron that is up on both sides is a brake, and one that is up on one side only rolls. So the two of a pair are taken
//! together, and those that mix two sticks are taken apart again into both.

use super::answers::{Answer, Answers, State};
use super::pairs::{Pair, pairs};
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::Stick;

/// The sticks that a surface of a pair may mix.
const MIXED: [Stick; 3] = [Stick::Roll, Stick::Pitch, Stick::Yaw];

/// Where the ends of the way of a collective begin, as a share of it (common practice, no source).
const NEAR_AN_END: f64 = 0.1;

/// A stick that moves its surface by less than this part of the way of a servo is no measure of anything (common practice, no source).
const A_MEASURE: f64 = 0.2;

/// One surface, or a pair of them, and what each adds to the part of a stick that both come to.
#[derive(Clone, Debug)]
pub struct Lever<'f> {
    /// The stick.
    pub stick: Stick,
    /// The surfaces, each with how much of the stick a microsecond of its pulse is.
    parts: Vec<(&'f Surface, f64)>,
}

impl<'f> Lever<'f> {
    /// The surfaces.
    pub fn surfaces(&self) -> impl Iterator<Item = &'f Surface> {
        self.parts.iter().map(|(surface, _)| *surface)
    }

    /// What part of a full stick the surfaces ask for, in percent, where each is so many microseconds from a place of its own; above
    /// zero: right, or away from the pilot. `None` where that is not known of one of them.
    pub fn share(&self, off: impl Fn(u8) -> Option<f64>) -> Option<f64> {
        let each = self.parts.iter().map(|(surface, part)| Some(off(surface.channel.value)? * part));
        Some(each.sum::<Option<f64>>()? * 100.0)
    }

    /// The same with each surface at a pulse, measured from the position of the controls from which it asks for the least.
    pub fn least(&self, answers: &Answers, pulse: impl Fn(u8) -> Option<f64>) -> Option<f64> {
        let from = |state: &State| self.share(|channel| Some(pulse(channel)? - answers.middle(state, channel)?));
        answers.states.iter().filter_map(from).min_by(|a, b| a.abs().total_cmp(&b.abs()))
    }
}

/// The surfaces that have the function of a stick, each with the other one of its pair, as far as the stick moves them.
pub fn levers<'f>(surfaces: &'f Surfaces, answers: &Answers, stick: Stick) -> Vec<Lever<'f>> {
    let has = |surface: &Surface| surface.has(stick.word()) || stick == Stick::Yaw && surface.has("steering");
    let pairs: Vec<Pair<'f>> = pairs(surfaces).into_iter().filter(|pair| has(pair.left) && has(pair.right)).collect();
    let alone = |surface: &&Surface| !pairs.iter().any(|pair| pair.channels().contains(&surface.channel.value));
    let alone = surfaces.channels.iter().filter(|surface| has(surface)).filter(alone);
    let alone = alone.filter_map(|surface| Some(vec![(surface, 1.0 / full(answers, surface, stick)?)]));
    let parts = pairs.iter().filter_map(|pair| of_pair(answers, pair, stick)).chain(alone);
    parts.map(|parts| Lever { stick, parts }).collect()
}

/// What each surface of a pair adds to the part of a stick.
fn of_pair<'f>(answers: &Answers, pair: &Pair<'f>, stick: Stick) -> Option<Vec<(&'f Surface, f64)>> {
    let both = |other: &Stick| pair.left.has(other.word()) && pair.right.has(other.word());
    let other = MIXED.into_iter().find(|other| *other != stick && both(other));
    let [left, right] = [pair.left, pair.right];
    let gains = |stick| [full(answers, left, stick), full(answers, right, stick)];
    let Some([Some(c), Some(d)]) = other.map(gains) else {
        // What one side does alone is half of what both do together.
        let parts = [left, right].map(|surface| Some((surface, 0.5 / full(answers, surface, stick)?)));
        return parts.into_iter().collect();
    };
    let [Some(a), Some(b)] = gains(stick) else { return None };
    let whole = a * d - b * c;
    // Two mixes that are the same have a rule of their own.
    (whole.abs() > answers.least).then(|| vec![(left, d / whole), (right, -c / whole)])
}

/// How far a full stick moves a surface to one side, in microseconds, where it moves it furthest; `None` where that is next to nothing.
fn full(answers: &Answers, surface: &Surface, stick: Stick) -> Option<f64> {
    let gains = answers.states.iter().map(|state| answers.gain(state, surface.channel.value, stick) / 2.0);
    gains.max_by(|a, b| a.abs().total_cmp(&b.abs())).filter(|gain| gain.abs() >= A_MEASURE * answers.span)
}

/// What a lost link asks of the aircraft.
#[derive(Clone, Debug)]
pub enum Asked<'f> {
    /// So many percent of a full stick.
    Stick(Lever<'f>, f64),
    /// Two flaps go so many percent of the way to their ends apart.
    Apart(Pair<'f>, f64),
    /// The blades of a rotor stand at an end of all that they are ever sent; whether it is the upper one of the pulses.
    Collective(&'f Surface, bool),
}

impl<'f> Asked<'f> {
    /// The surfaces that ask.
    pub fn surfaces(&self) -> Vec<&'f Surface> {
        match self {
            Self::Stick(lever, _) => lever.surfaces().collect(),
            Self::Apart(pair, _) => vec![pair.left, pair.right],
            Self::Collective(surface, _) => vec![surface],
        }
    }
}

/// What surfaces that are held at these pulses ask for beyond a limit in percent: roll, nose down, or all that a rotor can do.
/// Up elevator and rudder are often stored for a gentle turn.
pub fn asked<'f>(
    surfaces: &'f Surfaces,
    answers: &Answers,
    limit: f64,
    pulse: &dyn Fn(u8) -> Option<f64>,
) -> Vec<Asked<'f>> {
    let mut found = Vec::new();
    for stick in [Stick::Roll, Stick::Pitch] {
        for lever in levers(surfaces, answers, stick) {
            let Some(share) = lever.least(answers, pulse) else { continue };
            let asks = if stick == Stick::Pitch { share } else { share.abs() };
            found.extend((asks > limit).then_some(Asked::Stick(lever, share)));
        }
    }
    let steers =
        |pair: &Pair<'_>| MIXED.iter().any(|stick| pair.left.has(stick.word()) || pair.right.has(stick.word()));
    for pair in pairs(surfaces).into_iter().filter(|pair| !steers(pair)) {
        let Some(alike) = goes_alike(answers, &pair) else { continue };
        let from = |state: &State| {
            let off = |surface: &Surface| {
                let channel = surface.channel.value;
                Some(pulse(channel)? - answers.middle(state, channel)?)
            };
            let right = off(pair.right)?;
            Some((off(pair.left)? - if alike { right } else { -right }).abs() / 2.0 / answers.span * 100.0)
        };
        let apart = answers.states.iter().filter_map(from).min_by(f64::total_cmp);
        found.extend(apart.filter(|apart| *apart > limit).map(|apart| Asked::Apart(pair, apart)));
    }
    let collective = surfaces.channels.iter().filter(|surface| surface.has("collective"));
    found.extend(collective.filter_map(|surface| at_an_end(answers, surface, pulse(surface.channel.value)?)));
    found
}

/// Whether both surfaces of a pair go the same way where their pulses rise: as their directions are stated, else as the controls
/// that move both move them.
fn goes_alike(answers: &Answers, pair: &Pair<'_>) -> Option<bool> {
    if let Some(alike) = pair.goes_alike() {
        return Some(alike);
    }
    let both = |state: &State| {
        let [left, right] = pair.channels().map(|channel| answers.offset(state, channel));
        let (left, right) = (left?, right?);
        (left.abs().min(right.abs()) >= answers.least).then_some(left * right > 0.0)
    };
    answers.states.iter().find_map(both)
}

fn at_an_end<'f>(answers: &Answers, surface: &'f Surface, pulse: f64) -> Option<Asked<'f>> {
    let of = |state: &State| answers.at(state, surface.channel.value, Stick::Throttle);
    let ends = |answer: Answer| [answer.low, answer.middle, answer.high];
    let sent: Vec<f64> = answers.states.iter().filter_map(of).flat_map(ends).collect();
    let low = sent.iter().copied().min_by(f64::total_cmp)?;
    let high = sent.iter().copied().max_by(f64::total_cmp)?;
    if high - low < answers.least {
        return None;
    }
    let at = (pulse - low) / (high - low);
    (!(NEAR_AN_END..=1.0 - NEAR_AN_END).contains(&at)).then_some(Asked::Collective(surface, at > 0.5))
}
