//! What the positions of a switch or the way of a stick do one after the other: flaps that go out and come back, a collective that turns
//! back, a gyro that changes its kind of work, one control with two jobs.

use super::answers::{Answers, State};
use crate::fleet::Decimal;
use crate::fleet::craft::{Surface, Surfaces};
use crate::fleet::words::{FailsafeAction, Stick};
use crate::setup::channel_use::function;
use crate::setup::failsafe::AtLoss;
use crate::setup::signals::{Signals, float};
use crate::setup::subject::Subject;
use crate::signal::{ControlId, Handle, Movement, Path, Setting, whole};
use crate::source::Place;

/// Steps of flaps and turns of a collective count from this share of the scale on (common practice, no source): a camber that goes up and
/// down with the modes of a glider is less.
const STEP: f64 = 0.2;

/// The positions of the collective stick at which it is looked at, in percent.
const LOOKED_AT: [i64; 9] = [-100, -75, -50, -25, 0, 25, 50, 75, 100];

/// A surface that goes out and comes back.
#[derive(Clone, Debug)]
pub struct Back<'f> {
    /// The surface.
    pub surface: &'f Surface,
    /// The control, and where it stands in each of the three.
    pub control: ControlId,
    /// Where it stands there.
    pub at: [Setting; 3],
    /// What arrives there, in microseconds.
    pub pulses: [f64; 3],
    /// The way to the last.
    pub path: Path,
}

/// The flaps that a switch of three positions or more puts out and takes back on its way, as they were typed in the wrong order.
pub fn flaps_back<'f>(surfaces: &'f Surfaces, signals: &Signals, answers: &Answers) -> Vec<Back<'f>> {
    let flaps = surfaces.channels.iter().filter(|surface| surface.has("flap") || surface.is_air_brake());
    let one = |surface: &'f Surface| {
        let number = surface.channel.value;
        let named = signals.program().mentions(u16::from(number)).controls;
        named.into_iter().filter(|&control| signals.positions(control) > 2).find_map(|control| {
            let at = |position| Setting::Position(position);
            let pulses = (0..signals.positions(control)).map(|position| {
                let set = (Handle::Control(control), at(position));
                let percents = [-100, 100].map(|percent| {
                    let throttle = signals.stick(function(Stick::Throttle))?;
                    let sets = [set, (Handle::Control(throttle), Setting::Percent(whole(percent)))];
                    Some(float(signals.read_after(&sets, u16::from(number))?.received.as_ref()?))
                });
                // What a lever moves in some position is no step of the switch.
                match percents {
                    [Some(low), Some(high)] if (low - high).abs() < 1.0 => Some(low),
                    _ => None,
                }
            });
            let pulses: Vec<f64> = pulses.collect::<Option<_>>()?;
            let least = 2.0 * answers.span * STEP;
            let turned = pulses.windows(3).position(|three| {
                let &[a, b, c] = three else { return false };
                (b - a).abs() >= least && (c - b).abs() >= least && (b - a) * (c - b) < 0.0
            })?;
            let first = turned as u8;
            let three = |index: usize| pulses.get(turned + index).copied();
            let last = vec![(Handle::Control(control), at(first + 2))];
            let mut path = Path::at(signals.program().rest());
            path.movements.push(Movement { sets: last, held: 0 });
            Some(Back {
                surface,
                control,
                at: [at(first), at(first + 1), at(first + 2)],
                pulses: [three(0)?, three(1)?, three(2)?],
                path,
            })
        })
    };
    flaps.filter_map(one).collect()
}

/// The collectives that turn back on the way of their stick, with what they do in the positions of the controls where they turn.
pub fn collective_back<'f, 'a>(
    surfaces: &'f Surfaces,
    signals: &Signals,
    answers: &'a Answers,
) -> Vec<(&'a State, Back<'f>)> {
    let Some(stick) = signals.stick(function(Stick::Throttle)) else { return Vec::new() };
    let blades = surfaces.channels.iter().filter(|surface| surface.has("collective"));
    let one = |surface: &'f Surface| {
        answers.states.iter().filter(|state| state.throttle.is_none()).find_map(|state| {
            let read = |percent: i64| {
                let mut sets: Vec<_> = state.held.iter().map(|&(control, at)| (Handle::Control(control), at)).collect();
                sets.push((Handle::Control(stick), Setting::Percent(whole(percent))));
                let reading = signals.read_after(&sets, u16::from(surface.channel.value))?;
                Some(float(reading.received.as_ref()?))
            };
            let pulses: Vec<f64> = LOOKED_AT.into_iter().map(read).collect::<Option<_>>()?;
            let [first, last] = [*pulses.first()?, *pulses.last()?];
            // The point that lies furthest outside of both ends.
            let outside = |pulse: f64| (pulse - first.max(last)).max(first.min(last) - pulse);
            let (&at, &top) = LOOKED_AT.iter().zip(&pulses).max_by(|a, b| outside(*a.1).total_cmp(&outside(*b.1)))?;
            (outside(top) >= 2.0 * answers.span * STEP / 2.0).then(|| {
                let at = [-100, at, 100].map(|percent| Setting::Percent(whole(percent)));
                let path = answers.path(signals, state, Some((Stick::Throttle, 100)));
                (state, Back { surface, control: stick, at, pulses: [first, top, last], path })
            })
        })
    };
    blades.filter_map(one).collect()
}

/// A gyro whose gain lies on both sides of the middle of its channel.
#[derive(Clone, Copy, Debug)]
pub struct BothSides<'f> {
    /// The channel.
    pub surface: &'f Surface,
    /// The switch, and two of its positions.
    pub control: ControlId,
    /// Those positions.
    pub at: [u8; 2],
    /// What arrives in them.
    pub pulses: [f64; 2],
}

/// The gains that a switch moves from one side of the middle to the other.
pub fn gain_both_sides<'f>(surfaces: &'f Surfaces, signals: &Signals, answers: &Answers) -> Vec<BothSides<'f>> {
    let one = |surface: &'f Surface| {
        let number = surface.channel.value;
        let named = signals.program().mentions(u16::from(number)).controls;
        named.into_iter().filter(|&control| signals.positions(control) > 1).find_map(|control| {
            let read = |position: u8| {
                let set = (Handle::Control(control), Setting::Position(position));
                Some(float(signals.read_after(&[set], u16::from(number))?.received.as_ref()?))
            };
            let pulses: Vec<f64> = (0..signals.positions(control)).map(read).collect::<Option<_>>()?;
            let off = |pulse: &f64| pulse - answers.centre;
            let least = answers.least / 2.0;
            let at = pulses.windows(2).position(|two| {
                let &[a, b] = two else { return false };
                off(&a) * off(&b) < 0.0 && off(&a).abs() > least && off(&b).abs() > least
            })?;
            let at = [at as u8, at as u8 + 1];
            let pulse = |position: u8| pulses.get(usize::from(position)).copied();
            Some(BothSides { surface, control, at, pulses: [pulse(at[0])?, pulse(at[1])?] })
        })
    };
    surfaces.channels.iter().filter(|surface| surface.has("gain")).filter_map(one).collect()
}

/// A gain that is stored for a lost link on the other side of the middle than the model ever sends it.
#[derive(Clone, Copy, Debug)]
pub struct OtherAtLoss<'f> {
    /// The channel.
    pub surface: &'f Surface,
    /// What is stored, and where.
    pub stored: (Decimal, Place),
    /// What arrives with everything at rest.
    pub usual: f64,
}

/// The gains of which that is so.
pub fn gain_other_at_loss<'f>(
    surfaces: &'f Surfaces,
    signals: &Signals,
    answers: &Answers,
    at_loss: &[AtLoss<'_>],
) -> Vec<OtherAtLoss<'f>> {
    let one = |surface: &'f Surface| {
        let number = surface.channel.value;
        let (pulse, plan) = at_loss.iter().filter(|at| at.drives(number)).find_map(|at| {
            let plan = at.does(FailsafeAction::Preset)?;
            Some((plan.pulse(number)?, plan))
        })?;
        let named = signals.program().mentions(u16::from(number)).controls;
        let places = named.iter().flat_map(|&control| {
            (0..signals.positions(control)).map(move |at| vec![(Handle::Control(control), Setting::Position(at))])
        });
        let read = |sets: Vec<_>| Some(float(signals.read_after(&sets, u16::from(number))?.received.as_ref()?));
        let usual = read(Vec::new())?;
        let off = |pulse: f64| pulse - answers.centre;
        let (least, stored) = (answers.least / 2.0, off(pulse.pulse.value.to_f64()));
        let is_other = |pulse: f64| off(pulse) * stored < 0.0 && off(pulse).abs() > least;
        let all = stored.abs() > least && is_other(usual) && places.filter_map(read).all(is_other);
        // What an axis sets may lie on either side.
        let is_set_by_switches = named.iter().all(|&control| signals.positions(control) > 0);
        (all && is_set_by_switches).then_some(OtherAtLoss {
            surface,
            stored: (pulse.pulse.value, plan.head.place(pulse.span)),
            usual,
        })
    };
    surfaces.channels.iter().filter(|surface| surface.has("gain")).filter_map(one).collect()
}

/// What a control may have as its job.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Job {
    /// Flaps, brakes, spoilers.
    Lift,
    /// A motor.
    Motor,
    /// The wheels.
    Gear,
    /// A release.
    Release,
    /// A winch.
    Winch,
    /// A wheel or rudder that steers on the ground or the water.
    Steering,
    /// Something of the pilot's own words.
    Own,
}

/// One control that has two jobs.
#[derive(Clone, Copy, Debug)]
pub struct TwoJobs {
    /// The control.
    pub control: ControlId,
    /// Both jobs, each with a channel of it.
    pub jobs: [(Job, u8); 2],
}

impl TwoJobs {
    /// Whether one of them can't be taken back, or can't be seen, such as a release or the wheels, or both are moved all the time.
    pub fn is_grave(&self) -> bool {
        self.jobs.iter().any(|(job, _)| matches!(job, Job::Gear | Job::Release)) || self.steers_the_winch()
    }

    /// Whether what steers hauls the sheets as well.
    pub fn steers_the_winch(&self) -> bool {
        let has = |wanted: Job| self.jobs.iter().any(|(job, _)| *job == wanted);
        has(Job::Winch) && has(Job::Steering)
    }
}

/// The controls that have two jobs which a pilot keeps apart. Lights may go with anything, and what the throttle stick switches beside
/// its motor belongs to the motor.
pub fn two_jobs(subject: &Subject<'_>, surfaces: &Surfaces, signals: &Signals, answers: &Answers) -> Vec<TwoJobs> {
    let down = subject.craft.stays_down();
    let mut found: Vec<(ControlId, Vec<(Job, u8)>)> = Vec::new();
    let mut add = |control: ControlId, job: (Job, u8)| match found.iter_mut().find(|(known, _)| *known == control) {
        Some((_, jobs)) if jobs.iter().any(|(known, _)| *known == job.0) => {}
        Some((_, jobs)) => jobs.push(job),
        None => found.push((control, vec![job])),
    };
    let throttle = signals.stick(function(Stick::Throttle));
    for surface in &surfaces.channels {
        let number = surface.channel.value;
        let Some(job) = job_of(surface, down) else { continue };
        let named = signals.program().mentions(u16::from(number)).controls;
        for control in named.into_iter().filter(|control| Some(*control) != throttle) {
            if moves_alone(signals, answers, control, number) {
                add(control, (job, number));
            }
        }
    }
    for motor in &surfaces.motors {
        let number = motor.channel.value;
        for control in signals.program().moved_by(u16::from(number)).unwrap_or_default() {
            // What a stick or knob adds beside the throttle steers.
            match signals.positions(control) {
                0 if down && Some(control) != throttle => add(control, (Job::Steering, number)),
                0 => {}
                _ => add(control, (Job::Motor, number)),
            }
        }
    }
    let is_apart = |a: Job, b: Job| {
        matches!(
            (a.min(b), a.max(b)),
            (Job::Lift | Job::Motor | Job::Gear | Job::Release, Job::Gear | Job::Release)
                | (Job::Lift, Job::Motor)
                | (Job::Winch | Job::Steering, Job::Winch | Job::Steering | Job::Own)
        )
    };
    let two = |(control, jobs): (ControlId, Vec<(Job, u8)>)| {
        let pairs = jobs.iter().flat_map(|a| jobs.iter().map(move |b| [*a, *b]));
        let jobs = pairs.into_iter().find(|[a, b]| a.0 < b.0 && is_apart(a.0, b.0))?;
        Some(TwoJobs { control, jobs })
    };
    found.into_iter().filter_map(two).collect()
}

fn job_of(surface: &Surface, down: bool) -> Option<Job> {
    use crate::fleet::table::lists::FUNCTIONS;
    let has = |names: &[&str]| names.iter().any(|name| surface.has(name));
    if has(&["gear"]) {
        Some(Job::Gear)
    } else if has(&["release"]) {
        Some(Job::Release)
    } else if has(&["winch"]) {
        Some(Job::Winch)
    } else if has(&["flap", "spoiler"]) || surface.is_air_brake() {
        Some(Job::Lift)
    } else if down && has(&["steering", "yaw"]) {
        Some(Job::Steering)
    } else {
        let own = surface.functions.iter().any(|name| !FUNCTIONS.contains(&name.value.as_str()));
        (own && down).then_some(Job::Own)
    }
}

/// Whether a control by itself moves a channel while all else rests.
fn moves_alone(signals: &Signals, answers: &Answers, control: ControlId, number: u8) -> bool {
    let settings: Vec<Setting> = match signals.positions(control) {
        0 => [-100, 0, 100].map(|percent| Setting::Percent(whole(percent))).to_vec(),
        positions => (0..positions).map(Setting::Position).collect(),
    };
    let read = |setting| {
        let reading = signals.read_after(&[(Handle::Control(control), setting)], u16::from(number))?;
        Some(float(reading.received.as_ref()?))
    };
    let pulses: Vec<f64> = settings.into_iter().filter_map(read).collect();
    let low = pulses.iter().copied().fold(f64::INFINITY, f64::min);
    let high = pulses.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    high - low >= answers.least
}
