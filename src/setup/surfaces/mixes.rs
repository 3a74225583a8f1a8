//! What is mixed to a surface beside its own stick: rudder with the ailerons, elevator with the flaps, brakes on a stick that steers.

use super::answers::{Answer, Answers, State, own_sticks};
use super::attitude::{Lever, levers};
use super::pairs::{Pair, pairs};
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{CraftKind, Stick, Way};
use crate::setup::channel_use::function;
use crate::setup::signals::{Signals, float};
use crate::setup::subject::Subject;
use crate::signal::{ControlId, Handle, Path, Setting, whole};

/// A rudder that goes with the ailerons counts from this part of its full stick on, in percent (common practice, no source).
const RUDDER: f64 = 4.0;

/// A compensation counts from this part of the whole pitch stick on, in percent (common practice, no source).
const COMPENSATES: f64 = 2.0;

/// A stick that steers also works the brakes where it moves them by this share of the scale: less follows it to curve the wing (common
/// practice, no source).
const BRAKES: f64 = 0.25;

/// What brakes or lifts and is no stick's own.
const LIFTS: [&str; 3] = ["flap", "brake", "spoiler"];

/// A rudder that the roll stick moves against the turn.
#[derive(Clone, Debug)]
pub struct Adverse<'f, 'a> {
    /// The rudder, or both halves of a V-tail.
    pub lever: Lever<'f>,
    /// Where that is so.
    pub state: &'a State,
    /// As what part of the full yaw stick to the other side the full roll stick acts, in percent.
    pub percent: f64,
}

/// The rudders that go to the left with the roll stick to the right.
pub fn adverse<'f, 'a>(subject: &Subject<'_>, surfaces: &'f Surfaces, answers: &'a Answers) -> Vec<Adverse<'f, 'a>> {
    let steers_by_roll = |surface: &Surface| own_sticks(subject, surfaces, surface).contains(&Stick::Roll);
    let of = |lever: Lever<'f>| {
        if lever.surfaces().any(steers_by_roll) {
            return None;
        }
        let share = |state: &State| lever.share(|channel| Some(answers.gain(state, channel, Stick::Roll) / 2.0));
        let against = |state: &'a State| Some((state, share(state).filter(|share| *share < -RUDDER)?));
        let (state, share) = answers.states.iter().find_map(against)?;
        Some(Adverse { lever, state, percent: -share })
    };
    levers(surfaces, answers, Stick::Yaw).into_iter().filter_map(of).collect()
}

/// A brake or a flap that a stick moves that is to steer.
#[derive(Clone, Copy, Debug)]
pub struct OnStick<'f, 'a> {
    /// The brake.
    pub surface: &'f Surface,
    /// The stick.
    pub stick: Stick,
    /// Where that is so.
    pub state: &'a State,
    /// What the stick does to it.
    pub answer: Answer,
}

/// The brakes and flaps that the sticks of pitch or yaw move far. Ailerons that are flaps too are mixed so on some aerobatic aeroplanes.
pub fn on_stick<'f, 'a>(
    subject: &Subject<'_>,
    surfaces: &'f Surfaces,
    answers: &'a Answers,
) -> Option<OnStick<'f, 'a>> {
    let one = |surface: &'f Surface, stick: Stick| {
        let channel = surface.channel.value;
        let far = |state: &State| answers.gain(state, channel, stick).abs() >= 2.0 * answers.span * BRAKES;
        let state = answers.states.iter().find(|state| far(state))?;
        Some(OnStick { surface, stick, state, answer: answers.at(state, channel, stick)? })
    };
    let lifts = surfaces.channels.iter().filter(|surface| is_lift(surface) && !surface.has(Stick::Roll.word()));
    // A stick that has nothing of its own to move is missed by another rule.
    let steers = |stick: &Stick| surfaces.channels.iter().any(|surface| surface.has(stick.word()));
    let sticks: Vec<Stick> = [Stick::Pitch, Stick::Yaw].into_iter().filter(steers).collect();
    let mut all = lifts.flat_map(|surface| sticks.iter().map(move |&stick| (surface, stick)));
    all.find_map(|(surface, stick)| match own_sticks(subject, surfaces, surface).contains(&stick) {
        true => None,
        false => one(surface, stick),
    })
}

fn is_lift(surface: &Surface) -> bool {
    LIFTS.iter().any(|name| surface.has(name)) && !surface.is_wheel_brake()
}

/// What is odd about the elevator that goes with flaps or brakes. Shares are those of the whole pitch stick, in percent, above zero
/// down.
#[derive(Clone, Debug)]
pub enum Odd<'f, 'a> {
    /// It goes one way with half of them and the other way with all: where, and by how much, for both.
    Turns(Lever<'f>, [(&'a State, f64); 2]),
    /// Flaps go down and ailerons up, which lifts the nose, and so does the elevator.
    Up(Lever<'f>, &'a State, f64),
}

/// The elevators that don't go with flaps and brakes as one would expect. `start` is where the flaps are in.
pub fn odd_compensation<'f, 'a>(
    subject: &Subject<'_>,
    surfaces: &'f Surfaces,
    answers: &'a Answers,
    start: &'a State,
) -> Option<Odd<'f, 'a>> {
    // Flaps on the wing of a tailless aircraft are its elevator.
    if subject.is(CraftKind::FlyingWing) {
        return None;
    }
    let tails = levers(surfaces, answers, Stick::Pitch).into_iter();
    tails.filter(|lever| !lever.surfaces().any(is_lift)).find_map(|lever| {
        let down = |state: &State| {
            lever.share(|channel| Some(answers.middle(state, channel)? - answers.middle(start, channel)?))
        };
        let moves = |state: &'a State| Some((state, down(state).filter(|down| down.abs() >= COMPENSATES)?));
        let found: Vec<(&State, f64)> = answers.states.iter().filter_map(moves).collect();
        let turns = found.iter().find_map(|&full| {
            let half = found
                .iter()
                .find(|half| half.1 * full.1 < 0.0 && is_on_the_way(surfaces, answers, start, half.0, full.0))?;
            Some([*half, full])
        });
        if let Some(both) = turns {
            return Some(Odd::Turns(lever.clone(), both));
        }
        let crow = |state: &State| is_crow(surfaces, answers, start, state);
        let up = found.iter().find(|(state, down)| subject.is(CraftKind::Glider) && *down < 0.0 && crow(state))?;
        Some(Odd::Up(lever.clone(), up.0, -up.1))
    })
}

/// Two sticks of a pair of which one leaves the other little.
#[derive(Clone, Debug)]
pub struct Cramped<'f> {
    /// The pair.
    pub pair: Pair<'f>,
    /// The stick that keeps little.
    pub lost: Stick,
    /// The stick that stands at its end.
    pub other: Stick,
    /// How much the first keeps, in percent.
    pub percent: f64,
    /// The way there, with both at an end.
    pub path: Path,
}

/// The pairs that mix two sticks of which one, at an end, leaves the other less than a share, in percent, of its way, in some position
/// of the controls.
pub fn cramped<'f>(surfaces: &'f Surfaces, signals: &Signals, answers: &Answers, share: f64) -> Vec<Cramped<'f>> {
    const MIXED: [Stick; 3] = [Stick::Roll, Stick::Yaw, Stick::Pitch];
    let of = |pair: Pair<'f>| {
        let mut sticks = MIXED.into_iter().filter(|stick| pair.left.has(stick.word()) && pair.right.has(stick.word()));
        let (one, two) = (sticks.next()?, sticks.next()?);
        answers.states_of(signals, &pair.channels()).find_map(|state| {
            [(one, two), (two, one)].into_iter().find_map(|(lost, other)| {
                let ways = pair.channels().map(|channel| Some(answers.at(state, channel, lost)?.gain().abs()));
                let free = ways.into_iter().sum::<Option<f64>>().filter(|free| *free > 0.0)?;
                [-100, 100].into_iter().find_map(|end| {
                    let aside = answers.path(signals, state, Some((other, end)));
                    let percent = way(signals, &pair, &aside, lost)? / free * 100.0;
                    let path =
                        |aside: Path| Some(aside.then(signals.stick(function(lost))?, Setting::Percent(whole(100))));
                    (percent < share).then_some(Cramped { pair, lost, other, percent, path: path(aside)? })
                })
            })
        })
    };
    pairs(surfaces).into_iter().filter_map(of).collect()
}

/// How far a stick moves both of a pair from where a path leads, in microseconds.
fn way(signals: &Signals, pair: &Pair<'_>, path: &Path, stick: Stick) -> Option<f64> {
    let control = signals.stick(function(stick))?;
    let end = signals.program().end_of(path);
    let read = |percent: i64, channel: u8| {
        let set = (Handle::Control(control), Setting::Percent(whole(percent)));
        Some(float(end.read_moved(&[set], u16::from(channel))?.received.as_ref()?))
    };
    let ways = pair.channels().map(|channel| Some((read(100, channel)? - read(-100, channel)?).abs()));
    ways.into_iter().sum()
}

/// Whether one control alone leads from the start to either of two states, with flaps or brakes further out in the second.
fn is_on_the_way(surfaces: &Surfaces, answers: &Answers, start: &State, half: &State, full: &State) -> bool {
    if only_change(start, half).is_none_or(|control| only_change(start, full) != Some(control)) {
        return false;
    }
    let out = |state: &State| {
        let off = |surface: &Surface| {
            let channel = surface.channel.value;
            Some(answers.middle(state, channel)? - answers.middle(start, channel)?)
        };
        surfaces.channels.iter().filter(|surface| is_lift(surface)).map(off).collect::<Option<Vec<f64>>>()
    };
    let (Some(half), Some(full)) = (out(half), out(full)) else { return false };
    let further = |(half, full): (&f64, &f64)| half * full > 0.0 && full.abs() > half.abs() + answers.least;
    half.iter().zip(&full).any(further)
}

/// The one control in which a state differs from another.
fn only_change(start: &State, state: &State) -> Option<ControlId> {
    let apart =
        |a: &State, b: &State| a.held.iter().filter(|set| !b.held.contains(set)).map(|set| set.0).collect::<Vec<_>>();
    let mut controls = [apart(start, state), apart(state, start)].concat();
    controls.dedup();
    <[ControlId; 1]>::try_from(controls).ok().map(|[control]| control)
}

/// Whether ailerons go up and flaps down, by their stated directions.
fn is_crow(surfaces: &Surfaces, answers: &Answers, start: &State, state: &State) -> bool {
    let goes_up = |surface: &Surface| {
        let channel = surface.channel.value;
        let off = answers.middle(state, channel)? - answers.middle(start, channel)?;
        let way = surface.high_is.map(|way| way.value).filter(|way| matches!(way, Way::Up | Way::Down))?;
        (off.abs() >= answers.least).then_some((off > 0.0) == (way == Way::Up))
    };
    let mut ailerons = surfaces.channels.iter().filter(|surface| surface.has(Stick::Roll.word()));
    let mut flaps = surfaces.channels.iter().filter(|surface| is_lift(surface));
    ailerons.any(|surface| goes_up(surface) == Some(true)) && flaps.any(|surface| goes_up(surface) == Some(false))
}
