//! What the left and the right surface of a pair do together.

use super::answers::{Answer, Answers, State};
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{Side, Stick, Way};

/// Movements of both sides together by a stick count from this share of the scale on (common practice, no source).
const TOGETHER: f64 = 0.1;

/// One side of what a stick moves is missed from this share of the scale on (common practice, no source).
const ONE_SIDE: f64 = 0.15;

/// What the controls that are held do to a pair counts from this share of the scale on: less is the trim of a position (common
/// practice, no source).
const HELD: f64 = 0.03;

/// A down-going aileron goes further where it goes further by this share of the scale (common practice, no source).
const FURTHER: f64 = 0.03;

/// A left and a right surface that share a function.
#[derive(Clone, Copy, Debug)]
pub struct Pair<'f> {
    /// The left one.
    pub left: &'f Surface,
    /// The right one.
    pub right: &'f Surface,
}

/// The pairs: each left surface with the first right one that has the same functions, else shares one.
pub fn pairs(surfaces: &Surfaces) -> Vec<Pair<'_>> {
    let on = |side: Side| {
        surfaces.channels.iter().filter(move |surface| surface.side.is_some_and(|known| known.value == side))
    };
    let same = |a: &Surface, b: &Surface| {
        a.functions.len() == b.functions.len() && a.functions.iter().all(|name| b.has(&name.value))
    };
    let shares = |a: &Surface, b: &Surface| a.functions.iter().any(|name| b.has(&name.value));
    let pair = |left| {
        let right = on(Side::Right)
            .find(|right| same(left, right))
            .or_else(|| on(Side::Right).find(|right| shares(left, right)));
        right.map(|right| Pair { left, right })
    };
    on(Side::Left).filter_map(pair).collect()
}

impl Pair<'_> {
    /// The channels, the left one first.
    pub fn channels(&self) -> [u8; 2] {
        [self.left.channel.value, self.right.channel.value]
    }
}

/// A movement that both sides should make in the same way, with what moves them.
#[derive(Clone, Copy, Debug)]
pub struct Together<'a> {
    /// The stick that makes it; `None` for the controls that are held.
    pub stick: Option<Stick>,
    /// Where the controls stand.
    pub state: &'a State,
    /// How far the left and the right surface go, in microseconds.
    pub way: [f64; 2],
}

/// Every movement that both sides should make in the same way: by the stick of pitch, and by what is held elsewhere than at the start.
fn together<'a>(answers: &'a Answers, start: &State, pair: &Pair<'_>) -> Vec<Together<'a>> {
    let channels = pair.channels();
    let mut found = Vec::new();
    for state in &answers.states {
        if pair.left.has("pitch") && pair.right.has("pitch") {
            let way = channels.map(|channel| answers.gain(state, channel, Stick::Pitch));
            found.push(Together { stick: Some(Stick::Pitch), state, way });
        }
        let off = |channel| Some(answers.middle(state, channel)? - answers.middle(start, channel)?);
        if let [Some(left), Some(right)] = channels.map(off)
            && !std::ptr::eq(state, start)
        {
            found.push(Together { stick: None, state, way: [left, right] });
        }
    }
    found
}

/// A pair that a stick moves with the sign of what both sides should do together.
#[derive(Clone, Copy, Debug)]
pub struct Disagrees<'f, 'a> {
    /// The pair.
    pub pair: Pair<'f>,
    /// What both should do together.
    pub together: Together<'a>,
    /// The stick that has to move them against each other: roll, or on a V-tail yaw.
    pub against: Stick,
    /// How far that stick moves each there with its whole way, in microseconds.
    pub by: [f64; 2],
}

/// The first position in which a stick that has to move both sides against each other, and what both do together, have one sign on
/// both sides, so that one of the two is missing.
pub fn disagrees<'f, 'a>(
    surfaces: &Surfaces,
    answers: &'a Answers,
    start: &State,
    pair: Pair<'f>,
) -> Option<Disagrees<'f, 'a>> {
    let channels = pair.channels();
    let against = if pair.is_v_tail() { Stick::Yaw } else { Stick::Roll };
    let all = together(answers, start, &pair).into_iter();
    all.filter(|moved| moved.way.iter().all(|way| way.abs() >= moved.least(surfaces, answers, TOGETHER))).find_map(
        |together| {
            let by = channels.map(|channel| answers.gain(together.state, channel, against));
            let is_one = by[0] * by[1] != 0.0 && (by[0] * by[1] > 0.0) == (together.way[0] * together.way[1] > 0.0);
            is_one.then_some(Disagrees { pair, together, against, by })
        },
    )
}

/// The first position that moves the two of a pair opposite ways, by their stated directions.
pub fn apart<'a>(surfaces: &Surfaces, answers: &'a Answers, start: &State, pair: Pair<'_>) -> Option<Together<'a>> {
    let alike = pair.goes_alike()?;
    let held = together(answers, start, &pair).into_iter().filter(|moved| moved.stick.is_none());
    let counts =
        |moved: &Together<'_>| moved.way.iter().all(|way| way.abs() >= moved.least(surfaces, answers, TOGETHER));
    held.filter(counts).find(|moved| (moved.way[0] * moved.way[1] > 0.0) != alike)
}

impl Pair<'_> {
    /// Whether both go the same way where their pulses rise; `None` where that is not stated.
    pub fn goes_alike(&self) -> Option<bool> {
        let way = |surface: &Surface| Some(surface.high_is?.value).filter(|way| matches!(way, Way::Up | Way::Down));
        Some(way(self.left)? == way(self.right)?)
    }

    /// Whether both mix pitch and yaw.
    fn is_v_tail(&self) -> bool {
        ["pitch", "yaw"].iter().all(|name| self.left.has(name) && self.right.has(name)) && !self.left.has("roll")
    }
}

impl Together<'_> {
    /// From how many microseconds on it counts. What the throttle of a motor adds is a trim against its pull.
    fn least(&self, surfaces: &Surfaces, answers: &Answers, by_stick: f64) -> f64 {
        let throttle = |state: &State| {
            let mut motors = surfaces.motors.iter();
            motors.any(|motor| answers.gain(state, motor.channel.value, Stick::Throttle) != 0.0)
        };
        let is_pull = self.state.throttle.is_some() && answers.states.iter().any(throttle);
        2.0 * answers.span * if self.stick.is_none() && !is_pull { HELD } else { by_stick }
    }
}

/// A movement that one surface of a pair makes, and the other not, or much less.
#[derive(Clone, Copy, Debug)]
pub struct OneSide<'f, 'a> {
    /// The surface that goes further.
    pub more: &'f Surface,
    /// The other.
    pub less: &'f Surface,
    /// The stick that moves them; `None` for the controls that are held.
    pub stick: Option<Stick>,
    /// Where the controls stand.
    pub state: &'a State,
    /// How far each goes, in microseconds, the further first.
    pub way: [f64; 2],
}

/// The first movement of a pair of which one side makes less than a share, in percent, of what the other makes. What roll does is
/// compared with what the other stick position does to the other side, so that a differential does not count.
pub fn one_side<'f, 'a>(
    surfaces: &Surfaces,
    answers: &'a Answers,
    start: &State,
    pair: Pair<'f>,
    share: f64,
) -> Option<OneSide<'f, 'a>> {
    let mut moves: Vec<Together<'a>> = together(answers, start, &pair);
    for stick in [Stick::Roll, Stick::Yaw] {
        if !pair.left.has(stick.word()) || !pair.right.has(stick.word()) {
            continue;
        }
        for state in &answers.states {
            if let [Some(left), Some(right)] = pair.channels().map(|channel| answers.at(state, channel, stick)) {
                let furthest =
                    |answer: Answer| (answer.high - answer.middle).abs().max((answer.middle - answer.low).abs());
                moves.push(Together { stick: Some(stick), state, way: [furthest(left), furthest(right)] });
            }
        }
    }
    moves.into_iter().find_map(|moved| {
        let [left, right] = moved.way.map(f64::abs);
        let (more, less) = if left >= right { (left, right) } else { (right, left) };
        let counts = more >= moved.least(surfaces, answers, ONE_SIDE) && less * 100.0 < more * share;
        let (further, nearer) = if left >= right { (pair.left, pair.right) } else { (pair.right, pair.left) };
        counts.then_some(OneSide {
            more: further,
            less: nearer,
            stick: moved.stick,
            state: moved.state,
            way: [more, less],
        })
    })
}

/// An aileron that goes further down than up.
#[derive(Clone, Copy, Debug)]
pub struct FurtherDown<'f> {
    /// The surface.
    pub surface: &'f Surface,
    /// How far it goes down, in microseconds.
    pub down: f64,
    /// How far it goes up.
    pub up: f64,
}

/// The ailerons whose direction is stated and that go further down than up, with everything else at rest. Elevons are none: what
/// they do to roll hangs on their pitch.
pub fn further_down<'f>(surfaces: &'f Surfaces, answers: &Answers) -> Vec<FurtherDown<'f>> {
    let Some(rest) = answers.states.first() else { return Vec::new() };
    let ailerons = surfaces.channels.iter().filter(|surface| surface.has("roll") && !surface.has("pitch"));
    let one = |surface: &'f Surface| {
        let channel = surface.channel.value;
        let answer = answers.at(rest, channel, Stick::Roll)?;
        if answers.gain(rest, channel, Stick::Roll) == 0.0 {
            return None;
        }
        let rising_is_up = match surface.high_is?.value {
            Way::Up => true,
            Way::Down => false,
            _ => return None,
        };
        let (low, high) = ((answer.low - answer.middle).abs(), (answer.high - answer.middle).abs());
        let stick_right_is_up = (answer.gain() > 0.0) == rising_is_up;
        let (up, down) = if stick_right_is_up { (high, low) } else { (low, high) };
        let wrong = down > up + 2.0 * answers.span * FURTHER;
        wrong.then_some(FurtherDown { surface, down, up })
    };
    ailerons.filter_map(one).collect()
}
