//! What each stick does to each surface, in every position of the controls that act on one.
//!
//! Single states are looked at, exactly; what is found in one of them can occur. The sticks are moved one at a time, with trims
//! centred and everything that is not held at rest.

use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{Side, Stick, Tail, Way};
use crate::setup::channel_use::function;
use crate::setup::signals::{Signals, float};
use crate::setup::subject::Subject;
use crate::signal::{ControlId, ControlKind, End, Handle, Mentions, Path, Setting, whole};
use std::cell::OnceCell;

/// More combinations of positions than this are not looked at; then each control is moved alone.
const MOST_COMBINATIONS: usize = 64;

/// What moves a surface less than this share of the whole scale does not count as moving it (common practice, no source).
const MOVES: f64 = 0.05;

/// The sticks, in the order in which answers are kept.
const STICKS: [Stick; 4] = [Stick::Roll, Stick::Pitch, Stick::Throttle, Stick::Yaw];

/// The pulses that arrive on a channel with a stick at its ends and in its middle, in microseconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// With the stick left, or towards the pilot.
    pub low: f64,
    /// With the stick in its middle.
    pub middle: f64,
    /// With the stick right, or away from the pilot.
    pub high: f64,
}

impl Answer {
    /// How far the whole way of the stick moves it.
    pub fn gain(&self) -> f64 {
        self.high - self.low
    }
}

/// A position of the controls, and what every channel that is looked at answers there.
#[derive(Clone, Debug)]
pub struct State {
    /// The controls that are not at rest.
    pub held: Held,
    /// The throttle stick, where it is among them.
    pub throttle: Option<ControlId>,
    /// By channel and stick; absent where the channel can't be read.
    answers: Vec<[Option<Answer>; 4]>,
}

/// The channels that are looked at with all states, the one at rest first.
#[derive(Clone, Debug, Default)]
pub struct Answers {
    channels: Vec<u8>,
    /// The states.
    pub states: Vec<State>,
    /// What does not count as moving, in microseconds.
    pub least: f64,
    /// From the middle of the handset's scale to its end, in microseconds.
    pub span: f64,
    /// The middle of the handset's scale, in microseconds.
    pub centre: f64,
}

impl Answers {
    /// What these channels answer.
    pub(in crate::setup) fn of(signals: &Signals, channels: Vec<u8>) -> Self {
        let looks: Vec<Look> = channels.iter().map(|&channel| Look::at(signals, channel)).collect();
        let held = held(signals, &looks);
        Self::in_states(signals, channels, looks, held)
    }

    /// What a channel answers, where there are several states to look at.
    pub(in crate::setup) fn of_several(signals: &Signals, channel: u8) -> Option<Self> {
        let looks = vec![Look::at(signals, channel)];
        let held = held(signals, &looks);
        (held.len() > 1).then(|| Self::in_states(signals, vec![channel], looks, held))
    }

    fn in_states(signals: &Signals, channels: Vec<u8>, mut looks: Vec<Look>, held: Vec<Held>) -> Self {
        let scale = signals.program().parts().scale;
        let (centre, span) = (scale.centre.near(), scale.span.near());
        let throttle = signals.stick(function(Stick::Throttle));
        let states = held.into_iter().map(|held| {
            let end = OnceCell::new();
            let end = || end.get_or_init(|| signals.program().end_of(&path(signals, held.iter().copied())));
            let answers =
                looks.iter_mut().map(|look| look.once(&held, |channel, named| answer(signals, end(), channel, named)));
            let answers = answers.collect();
            let throttle = throttle.filter(|stick| held.iter().any(|(control, _)| control == stick));
            State { answers, throttle, held }
        });
        let states = states.collect();
        Self { channels, states, least: 2.0 * span * MOVES, span, centre }
    }

    /// The states that differ for one of some channels: by a control that one of them names, or wherever one remembers something.
    pub(super) fn states_of(&self, signals: &Signals, channels: &[u8]) -> impl Iterator<Item = &State> {
        let named: Vec<Mentions> =
            channels.iter().map(|&channel| signals.program().mentions(u16::from(channel))).collect();
        let mut seen: Vec<Held> = Vec::new();
        self.states.iter().filter(move |state| {
            let mut of_these = state.held.clone();
            of_these.retain(|(control, _)| named.iter().any(|named| named.latches || named.controls.contains(control)));
            let is_new = !seen.contains(&of_these);
            if is_new {
                seen.push(of_these);
            }
            is_new
        })
    }

    /// What a channel answers to a stick in a state.
    pub fn at(&self, state: &State, channel: u8, stick: Stick) -> Option<Answer> {
        let index = self.channels.iter().position(|&known| known == channel)?;
        let at = STICKS.iter().position(|&known| known == stick)?;
        *state.answers.get(index)?.get(at)?
    }

    /// How far a stick moves a channel in a state; zero where that is next to nothing.
    pub fn gain(&self, state: &State, channel: u8, stick: Stick) -> f64 {
        let gain = self.at(state, channel, stick).map_or(0.0, |answer| answer.gain());
        if gain.abs() < self.least { 0.0 } else { gain }
    }

    /// How far a state moves a channel whose sticks are centred, from where it is at rest.
    pub fn offset(&self, state: &State, channel: u8) -> Option<f64> {
        Some(self.middle(state, channel)? - self.middle(self.states.first()?, channel)?)
    }

    /// The state that the start check demands, as far as it speaks of what moves these channels; else the one at rest, and so where
    /// each control is moved alone, from there.
    pub fn at_start(&self, demands: &[(ControlId, Setting)]) -> Option<&State> {
        if self.states.iter().all(|state| state.held.len() < 2) {
            return self.states.first();
        }
        let moves =
            |control: &ControlId| self.states.iter().any(|state| state.held.iter().any(|(it, _)| it == control));
        let rest = |set: &(ControlId, Setting)| !self.states.iter().any(|state| state.held.contains(set));
        let wanted: Vec<_> = demands.iter().filter(|set| moves(&set.0) && !rest(set)).collect();
        let is_it =
            |state: &&State| state.held.len() == wanted.len() && wanted.iter().all(|set| state.held.contains(set));
        self.states.iter().find(is_it).or_else(|| self.states.first())
    }

    /// What arrives on a channel in a state while the sticks that steer are centred, in microseconds. A pistol grip has only one of them.
    pub fn middle(&self, state: &State, channel: u8) -> Option<f64> {
        let steering = [Stick::Roll, Stick::Pitch, Stick::Yaw];
        steering.into_iter().find_map(|stick| self.at(state, channel, stick)).map(|answer| answer.middle)
    }

    /// The way to a state, with a stick at a percent.
    pub fn path(&self, signals: &Signals, state: &State, stick: Option<(Stick, i64)>) -> Path {
        let stick = stick
            .and_then(|(stick, percent)| Some((signals.stick(function(stick))?, Setting::Percent(whole(percent)))));
        path(signals, state.held.iter().copied().chain(stick))
    }

    /// The names of the controls that are held, as a sentence has them: "left-rear down"; empty at rest.
    pub fn named(&self, signals: &Signals, state: &State) -> String {
        let one = |&(control, setting): &(ControlId, Setting)| match setting {
            Setting::Position(at) => format!("{} {}", signals.name(control), signals.position_name(control, at)),
            Setting::Percent(percent) => format!("{} at {} %", signals.name(control), percent.near()),
        };
        state.held.iter().map(one).collect::<Vec<_>>().join(" and ")
    }
}

/// From rest, each of these moved there, one after the other.
pub(in crate::setup) fn path(signals: &Signals, moves: impl Iterator<Item = (ControlId, Setting)>) -> Path {
    moves.fold(Path::at(signals.program().rest()), |path, (control, to)| path.then(control, to))
}

/// The controls that are not at rest.
type Held = Vec<(ControlId, Setting)>;

/// A channel that is looked at in one state after the other.
struct Look {
    channel: u8,
    mentions: Mentions,
    /// What was seen, with the controls that made a difference.
    seen: Vec<(Held, [Option<Answer>; 4])>,
}

impl Look {
    fn at(signals: &Signals, channel: u8) -> Self {
        Self { channel, mentions: signals.program().mentions(u16::from(channel)), seen: Vec::new() }
    }

    /// What it answers to each stick in a state. A channel that remembers nothing answers the same wherever the controls stand that
    /// it does not name.
    fn once(
        &mut self,
        held: &Held,
        answer: impl FnOnce(u8, &[ControlId]) -> [Option<Answer>; 4],
    ) -> [Option<Answer>; 4] {
        let Mentions { controls, latches, .. } = &self.mentions;
        let differs = |(control, _): &&(ControlId, Setting)| *latches || controls.contains(control);
        let held: Held = held.iter().filter(differs).copied().collect();
        if let Some((_, known)) = self.seen.iter().find(|(known, _)| *known == held) {
            return *known;
        }
        let found = answer(self.channel, controls);
        self.seen.push((held, found));
        found
    }
}

/// What a channel, which names these controls, answers to each stick.
fn answer(signals: &Signals, end: &End<'_>, channel: u8, named: &[ControlId]) -> [Option<Answer>; 4] {
    let arrives = |sets: &[(Handle, Setting)]| {
        let reading = end.read_moved(sets, u16::from(channel))?;
        reading.received.as_ref().map(float)
    };
    let still = arrives(&[]);
    STICKS.map(|stick| {
        let control = signals.stick(function(stick))?;
        let at = |percent: i64| {
            let (handle, setting) = (Handle::Control(control), Setting::Percent(whole(percent)));
            // A stick that the channel does not name moves nothing, nor does one that stays where it is.
            let moves = named.contains(&control) && end.stands_at(handle) != Some(setting);
            if moves { arrives(&[(handle, setting)]) } else { still }
        };
        let rest = if stick == Stick::Throttle { -100 } else { 0 };
        Some(Answer { low: at(-100)?, middle: at(rest)?, high: at(100)? })
    })
}

/// The positions of the controls that some channel names, beside the sticks that steer: all combinations, or each control alone
/// where these are many.
fn held(signals: &Signals, looks: &[Look]) -> Vec<Held> {
    let steers = [Stick::Roll, Stick::Pitch, Stick::Yaw].map(|stick| signals.stick(function(stick)));
    let named = each_once(looks.iter().flat_map(|look| look.mentions.controls.iter().copied()));
    let acting = named.into_iter().filter(|&control| !steers.contains(&Some(control)));
    combinations(signals, &acting.collect::<Vec<_>>())
}

/// The controls that some channel names, each once.
pub(super) fn named_by(signals: &Signals, channels: &[u8]) -> Vec<ControlId> {
    each_once(channels.iter().flat_map(|&channel| signals.program().mentions(u16::from(channel)).controls))
}

fn each_once(controls: impl Iterator<Item = ControlId>) -> Vec<ControlId> {
    let mut named = Vec::new();
    for control in controls {
        if !named.contains(&control) {
            named.push(control);
        }
    }
    named
}

/// Where these controls can stand together, each time those that are not at rest: all combinations, or each control alone where these
/// are many. The first is the rest.
pub(in crate::setup) fn combinations(signals: &Signals, controls: &[ControlId]) -> Vec<Held> {
    let settings = controls.iter().map(|&control| {
        let rest = signals.program().rests_at(Handle::Control(control));
        let kind = signals.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind);
        let all: Vec<Setting> = match kind {
            Some(ControlKind::Stick { .. } | ControlKind::Axis { .. }) => {
                [-100, 0, 100].map(|percent| Setting::Percent(whole(percent))).to_vec()
            }
            _ => (0..signals.positions(control)).map(Setting::Position).collect(),
        };
        let moved = all.into_iter().filter(|&setting| Some(setting) != rest);
        moved.map(|setting| (control, setting)).collect()
    });
    let settings: Vec<Vec<(ControlId, Setting)>> = settings.collect();
    let count = settings.iter().try_fold(1usize, |count, all| count.checked_mul(all.len() + 1));
    let mut states = vec![Vec::new()];
    if count.is_some_and(|count| count <= MOST_COMBINATIONS) {
        for all in &settings {
            let before = states.clone();
            for &setting in all {
                states.extend(
                    before.iter().map(|held: &Vec<_>| held.iter().copied().chain([setting]).collect::<Vec<_>>()),
                );
            }
        }
    } else {
        states.extend(settings.into_iter().flatten().map(|setting| vec![setting]));
    }
    states
}

/// The sticks that are to move a surface. On the ground and the water, and where nothing has roll, what steers may hang on the
/// stick of roll.
pub fn own_sticks(subject: &Subject<'_>, surfaces: &Surfaces, surface: &Surface) -> Vec<Stick> {
    let down = subject.craft.stays_down();
    let steers_by_roll = down || !surfaces.channels.iter().any(|surface| surface.has("roll"));
    let mut own = Vec::new();
    for name in &surface.functions {
        match name.value.as_str() {
            "yaw" | "steering" => {
                own.push(Stick::Yaw);
                own.extend(steers_by_roll.then_some(Stick::Roll));
            }
            "tail" => own.push(Stick::Yaw),
            "collective" => own.push(Stick::Throttle),
            other => own.extend(Stick::find(other)),
        }
    }
    own
}

/// Whether the pulse of a surface has to rise when a stick goes right, or away from the pilot, as the FAA Pilot's Handbook of
/// Aeronautical Knowledge (FAA-H-8083-25, chapter 6, Flight Controls) has it: stick right raises the right aileron and lowers
/// the left one; stick back raises the elevator, and lowers that of a canard; the right pedal moves the rudder to the right, on
/// an upright V-tail by the left surface going up and the right one down. `None` where it is not stated which way the surface
/// goes, or where that does not settle it.
pub fn has_to_rise(surfaces: &Surfaces, surface: &Surface, stick: Stick) -> Option<bool> {
    let way = surface.high_is?.value;
    let up = match way {
        Way::Up => Some(true),
        Way::Down => Some(false),
        _ => None,
    };
    let right = match way {
        Way::Right => Some(true),
        Way::Left => Some(false),
        _ => None,
    };
    let is_right = surface.side.map(|side| side.value == Side::Right);
    match stick {
        // A rotor head, or a pair on one lead, leans as a whole.
        Stick::Roll if surface.has("roll") && right.is_some() => right,
        Stick::Roll if surface.has("roll") => Some(up? == is_right?),
        Stick::Pitch if surface.has("pitch") => match surfaces.canard {
            // Which of them are in front is not stated.
            Some(_) if surface.has("roll") => None,
            canard => Some(up? == canard.is_some()),
        },
        Stick::Yaw | Stick::Roll if ["yaw", "steering", "tail"].iter().any(|name| surface.has(name)) => {
            match (right, surfaces.tail) {
                (Some(right), _) => Some(right),
                (None, Some(tail)) => Some((up? != is_right?) == (tail.value == Tail::UprightV)),
                (None, None) => None,
            }
        }
        _ => None,
    }
}
