//! The signal path of one model and one aircraft, as rules ask it.

use super::ends::{Seen, look};
use super::stop::Stop;
use super::surfaces::answers::Answers;
use super::witness::{Setting as Shown, Witness, WitnessChannel};
use crate::fleet::Decimal;
use crate::fleet::craft::Surfaces;
use crate::fleet::words::{Hands, Stick};
use crate::signal::{
    Bound, Bounds, ChannelReading, Condition, ControlId, ControlKind, Exact, Function, Handle, Lowered, Measure,
    ModeId, Movement, Movers, Path, Position, Program, Question, Rational64, Reach, Reading, Setting, Stand, Why,
    whole,
};
use compact_str::CompactString;
use num_traits::ToPrimitive;
use std::cell::OnceCell;

/// A lowered model and aircraft, with what many rules need of it.
#[derive(Debug)]
pub struct Signals {
    lowered: Lowered,
    hands: Hands,
    arm: Option<ModeId>,
    arming: OnceCell<Result<Vec<ControlId>, Why>>,
    /// What was seen of the channel of each function.
    seen: [OnceCell<Seen>; 4],
    /// What keeps each motor idle.
    stops: OnceCell<Vec<Result<Vec<Stop>, Why>>>,
    /// What the channels of the surfaces and motors answer to the sticks.
    answers: OnceCell<Answers>,
}

impl Signals {
    pub(super) fn new(lowered: Lowered, hands: Hands) -> Self {
        let arm = lowered.mode("arm");
        Self {
            lowered,
            hands,
            arm,
            arming: OnceCell::new(),
            seen: Default::default(),
            stops: OnceCell::new(),
            answers: OnceCell::new(),
        }
    }

    /// The program.
    pub fn program(&self) -> &Program {
        &self.lowered.program
    }

    /// The names of the description in the program.
    pub fn lowered(&self) -> &Lowered {
        &self.lowered
    }

    /// "Asks to arm": `mode arm` is on by the pulses received; `None` where the controller has no such mode.
    pub fn asks(&self) -> Option<Condition> {
        self.arm.map(|arm| Condition::Mode(arm, Measure::Received))
    }

    /// The mode that is the request to arm.
    pub fn arm(&self) -> Option<ModeId> {
        self.arm
    }

    /// The arming controls: switches and buttons of which a single movement starts to ask for arming from some
    /// reachable state that does not. None without a `mode arm`.
    ///
    /// # Errors
    /// Why it was not decided for one of them.
    pub fn arming_controls(&self) -> Result<&[ControlId], Why> {
        let found = self.arming.get_or_init(|| {
            let Some(asks) = self.asks() else { return Ok(Vec::new()) };
            let mut controls = Vec::new();
            for control in self.switches() {
                let question = Question::is(Condition::Not(Box::new(asks.clone())))
                    .then(Movers::These(vec![control]), asks.clone());
                if self.program().decide(&question)? {
                    controls.push(control);
                }
            }
            Ok(controls)
        });
        found.as_deref().map_err(|why| *why)
    }

    /// What the surfaces and motors of an aircraft answer to each stick, in every position of the controls that act on one.
    pub fn answers(&self, surfaces: &Surfaces) -> &Answers {
        self.answers.get_or_init(|| {
            let motors = surfaces.motors.iter().map(|motor| motor.channel.value);
            Answers::of(self, surfaces.channels.iter().map(|surface| surface.channel.value).chain(motors).collect())
        })
    }

    /// What one channel answers to the sticks; `None` where no control that does not steer makes a difference to it.
    pub fn answers_of(&self, channel: u8) -> Option<Answers> {
        Answers::of_several(self, channel)
    }

    /// What can be read on one channel after these movements, one after the other, from rest; `None` where the model does not define
    /// it, and where it is not known.
    pub fn read_after(&self, moves: &[(Handle, Setting)], channel: u16) -> Option<ChannelReading> {
        let mut path = Path::at(self.program().rest());
        path.movements.extend(moves.iter().map(|set| Movement { sets: vec![*set], held: 0 }));
        self.program().read(&path, channel)
    }

    /// A mode by its name, by the pulses received.
    pub fn mode(&self, name: &str) -> Option<Condition> {
        self.lowered.mode(name).map(|mode| Condition::Mode(mode, Measure::Received))
    }

    /// Every switch and button.
    pub fn switches(&self) -> Vec<ControlId> {
        let kinds = self.program().controls();
        kinds
            .filter(|(_, control)| matches!(control.kind, ControlKind::Switch { .. } | ControlKind::Button { .. }))
            .map(|(id, _)| id)
            .collect()
    }

    /// How many positions a switch or button has; 0 for an axis.
    pub fn positions(&self, control: ControlId) -> u8 {
        match self.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind) {
            Some(ControlKind::Switch { positions, .. }) => positions.len() as u8,
            Some(ControlKind::Button { .. } | ControlKind::Reported) => 2,
            _ => 0,
        }
    }

    /// Whether a control is a stick, a knob or a slider.
    pub fn is_axis(&self, control: ControlId) -> bool {
        let kind = self.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind);
        matches!(kind, Some(ControlKind::Stick { .. } | ControlKind::Axis { .. }))
    }

    /// The position to which a switch or button springs back by itself; `None` for one that stays.
    pub fn springs_to(&self, control: ControlId) -> Option<u8> {
        match self.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind) {
            Some(ControlKind::Switch { sprung_to, .. }) => *sprung_to,
            Some(ControlKind::Button { stays: false }) => Some(0),
            _ => None,
        }
    }

    /// A control's name.
    pub fn name(&self, control: ControlId) -> &str {
        self.program().parts().controls.get(usize::from(control.0)).map_or("", |control| control.name.as_str())
    }

    /// The name of a position of a control.
    pub fn position_name(&self, control: ControlId, position: u8) -> CompactString {
        match self.program().parts().controls.get(usize::from(control.0)).map(|control| &control.kind) {
            Some(ControlKind::Switch { positions, .. }) => {
                positions.get(usize::from(position)).cloned().unwrap_or_default()
            }
            Some(ControlKind::Button { .. }) => {
                CompactString::const_new(if position == 0 { "released" } else { "pressed" })
            }
            Some(ControlKind::Reported) => CompactString::const_new(if position == 0 { "off" } else { "on" }),
            _ => CompactString::default(),
        }
    }

    /// The four sticks.
    pub fn stick(&self, function: Function) -> Option<ControlId> {
        self.program().stick(function)
    }

    /// "The throttle stick is at its lowest": raw at or under −97 %.
    pub fn throttle_low(&self) -> Condition {
        match self.stick(Function::Throttle) {
            Some(stick) => Condition::At(stick, Position::Low),
            None => Condition::Constant(false),
        }
    }

    /// What is seen of the channel from which a function is read, without a question.
    pub fn seen(&self, function: Stick, channel: u8) -> &Seen {
        let [roll, pitch, throttle, yaw] = &self.seen;
        let cell = match function {
            Stick::Roll => roll,
            Stick::Pitch => pitch,
            Stick::Throttle => throttle,
            Stick::Yaw => yaw,
        };
        cell.get_or_init(|| look(self, function, channel).unwrap_or_default())
    }

    /// What keeps each motor idle, in the order of the motors, found once by `find`.
    pub(super) fn stops(&self, find: impl FnOnce() -> Vec<Result<Vec<Stop>, Why>>) -> &[Result<Vec<Stop>, Why>] {
        self.stops.get_or_init(find)
    }

    /// The names of a setting.
    fn shown(&self, control: usize, setting: Setting) -> Shown {
        match setting {
            Setting::Percent(percent) => Shown::Percent(percent),
            Setting::Position(position) => Shown::Position(self.position_name(ControlId(control as u16), position)),
        }
    }

    fn control_name(&self, control: usize) -> CompactString {
        self.name(ControlId(control as u16)).into()
    }

    /// A path played to its end, as a finding shows it.
    pub fn witness(&self, path: &Path) -> Witness {
        let reading = self.program().play(path);
        let rest = self.program().rest();
        let mut first = Vec::new();
        for (index, (at, rest)) in path.start.controls.iter().zip(&rest.controls).enumerate() {
            if at != rest {
                first.push((self.control_name(index), self.shown(index, *at)));
            }
        }
        for (index, trim) in path.start.trims.iter().enumerate().filter(|(_, trim)| **trim != whole(0)) {
            first.push((trim_name(self.name(ControlId(index as u16))), Shown::Percent(*trim)));
        }
        let path = &self.waiting(path);
        let mut steps = vec![first];
        steps.extend(self.wait(path.held));
        for movement in &path.movements {
            if movement.sets.is_empty() {
                steps.extend(self.wait(movement.held).or_else(|| Some(vec![wait(Decimal::whole(0))])));
                continue;
            }
            steps.extend(self.wait(movement.held));
            let sets = movement.sets.iter().map(|&(handle, setting)| match handle {
                Handle::Control(id) => (self.control_name(usize::from(id.0)), self.shown(usize::from(id.0), setting)),
                Handle::Trim(id) => (trim_name(self.name(id)), self.shown(usize::from(id.0), setting)),
            });
            steps.push(sets.collect());
        }
        self.shows(&reading, steps)
    }

    /// The same path with waits of their own, where it leads to the same: what is held is held after the controls came to where
    /// they are. Where that leads elsewhere, what is held is held before they move.
    fn waiting(&self, path: &Path) -> Path {
        let mut apart = Path { held: 0, movements: Vec::new(), ..path.clone() };
        let moments = std::iter::once((&[][..], path.held));
        let moments = moments.chain(path.movements.iter().map(|movement| (movement.sets.as_slice(), movement.held)));
        for (at, (sets, held)) in moments.enumerate() {
            if at > 0 {
                apart.movements.push(Movement { sets: sets.to_vec(), held: 0 });
            }
            if held != 0 && !(at > 0 && sets.is_empty()) {
                apart.movements.push(Movement { sets: Vec::new(), held });
            } else if let Some(last) = apart.movements.last_mut().filter(|_| held != 0) {
                last.held = held;
            }
        }
        let is_same = |other: &Path| self.program().play(other) == self.program().play(path);
        if is_same(&apart) { apart } else { path.clone() }
    }

    /// The step that waits until conditions count as held; none where none has to.
    fn wait(&self, held: u64) -> Option<Vec<(CompactString, Shown)>> {
        let numbers = (0..64_u8).filter(|number| held >> number & 1 == 1);
        let longest = numbers.filter_map(|number| self.lowered.held_for(number)).max()?;
        Some(vec![wait(longest)])
    }

    fn shows(&self, reading: &Reading, path: Vec<Vec<(CompactString, Shown)>>) -> Witness {
        let stand = &reading.stand;
        let controls = stand.controls.iter().enumerate();
        let trims = stand.trims.iter().enumerate().filter(|(_, trim)| **trim != whole(0));
        let latches = self.program().parts().conditions.iter().zip(&reading.conditions);
        let channels = reading.channels.iter().map(|channel| WitnessChannel {
            channel: channel.number as u8,
            pulse_us: float(&channel.sent),
            carried_us: channel.received.as_ref().map(float),
        });
        Witness {
            hands: self.hands,
            controls: controls.map(|(index, at)| (self.control_name(index), self.shown(index, *at))).collect(),
            trims: trims.map(|(index, trim)| (self.control_name(index), *trim)).collect(),
            latches: latches
                .filter(|(named, _)| !matches!(named.kind, crate::signal::NamedKind::Plain(_)))
                .filter_map(|(named, on)| Some((named.name.as_str().into(), (*on)?)))
                .collect(),
            path,
            channels: channels.collect(),
        }
    }

    /// The same path with one more movement. What was held goes on as long as its condition does.
    pub fn moved(&self, path: &Path, sets: Vec<(Handle, Setting)>) -> Path {
        self.going_on(path, sets, 0)
    }

    /// The same path with a wait of so many seconds at its end, in which nothing is moved.
    pub fn waited(&self, path: &Path, seconds: Decimal) -> Path {
        self.going_on(path, Vec::new(), self.lowered.held_after(path, seconds))
    }

    fn going_on(&self, path: &Path, sets: Vec<(Handle, Setting)>, waited: u64) -> Path {
        let before = path.movements.last().map_or(path.held, |movement| movement.held);
        let mut path = path.clone();
        path.movements.push(Movement { sets, held: 0 });
        let on = self.lowered.held_after(&path, LONGEST);
        if let Some(last) = path.movements.last_mut() {
            last.held = before & on | waited;
        }
        path
    }

    /// The same path with a wait until all counts as held that is, and for how many seconds; none where nothing has to be held.
    pub fn settled(&self, path: Path) -> (Path, Option<Decimal>) {
        let held = path.movements.last().map_or(path.held, |movement| movement.held);
        let waits = self.lowered.held_after(&path, LONGEST) & !held;
        let numbers = (0..64_u8).filter(|number| waits >> number & 1 == 1);
        match numbers.filter_map(|number| self.lowered.held_for(number)).max() {
            Some(longest) => (self.waited(&path, longest), Some(longest)),
            None => (path, None),
        }
    }

    /// The state in which the handset is turned on as `before-start` demands, else at rest.
    pub fn start(&self, demands: &[(ControlId, Setting)]) -> Stand {
        let mut stand = self.program().rest();
        for &(control, setting) in demands {
            stand.set(Handle::Control(control), setting);
        }
        stand
    }
}

/// Longer than anything has to be held, in seconds.
const LONGEST: Decimal = Decimal::whole(1_000_000_000);

fn wait(seconds: Decimal) -> (CompactString, Shown) {
    (CompactString::const_new("wait"), Shown::Wait(seconds))
}

fn trim_name(stick: &str) -> CompactString {
    format!("{stick} trim").into()
}

/// Whether what a channel reaches is one pulse, in any rounding. `None` where it is not known, or where it reaches nothing.
pub fn is_still(reach: &Reach) -> Option<bool> {
    /// More than the rounding of a pulse, in microseconds.
    const ROUNDING_US: f64 = 1.0;
    match reach {
        Reach::Range(range) => Some(range.high - range.low < ROUNDING_US),
        Reach::Nowhere | Reach::NotDecided(_) => None,
    }
}

/// The nearest floating-point number.
pub fn float(exact: &Exact) -> f64 {
    exact.to_f64().unwrap_or(f64::NAN)
}

/// Everything strictly below.
pub fn below(at: Rational64) -> Bounds {
    Bounds { low: None, high: Some(Bound { at, strict: true }) }
}

/// Everything at or above.
pub fn at_least(at: Rational64) -> Bounds {
    Bounds { low: Some(Bound { at, strict: false }), high: None }
}

/// Everything at or below.
pub fn at_most(at: Rational64) -> Bounds {
    Bounds { low: None, high: Some(Bound { at, strict: false }) }
}

/// Everything strictly above.
pub fn above(at: Rational64) -> Bounds {
    Bounds { low: Some(Bound { at, strict: true }), high: None }
}
