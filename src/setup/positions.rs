//! What each position of each control of the handset does for an aircraft.

use super::of_craft::Setup;
use super::signals::{Signals, float};
use super::stop::Stop;
use super::terms::hangs_on;
use crate::fleet::Decimal;
use crate::fleet::condition::{Condition, Name};
use crate::fleet::craft::{Mode, Surface};
use crate::fleet::model::{RateLine, StickRates};
use crate::signal::{ControlId, ControlKind, Handle, Path, Reading, Setting, whole};
use compact_str::CompactString;

/// A switch, button, knob or slider, and what each of its positions does.
#[derive(Clone, Debug)]
pub struct ControlUse<'f> {
    /// The control.
    pub control: ControlId,
    /// Its name.
    pub name: CompactString,
    /// Where the start check wants it; `None` where it does not ask.
    pub asked: Option<Setting>,
    /// Where it springs back to; `None` for one that stays where it is put.
    pub springs_to: Option<Setting>,
    /// Its positions; of a knob or slider both ends and the middle.
    pub places: Vec<PlaceUse<'f>>,
}

/// One position.
#[derive(Clone, Debug)]
pub struct PlaceUse<'f> {
    /// The position.
    pub at: Setting,
    /// Its name.
    pub name: CompactString,
    /// What is so there and not in every position of the control.
    pub effects: Vec<Effect<'f>>,
}

/// What is so in a position of a control, with everything else as at the start.
#[derive(Clone, PartialEq, Debug)]
pub enum Effect<'f> {
    /// A mode is on.
    Mode(&'f Mode),
    /// None of the modes that the control turns on is on.
    NoMode(Vec<&'f Mode>),
    /// The motors of these channels are kept idle, wherever their stick is.
    Stops(Vec<u8>),
    /// The motors of these channels may run, which another position of the control keeps idle.
    Lets(Vec<u8>),
    /// A stick has this rate and expo, in percent.
    Rate(&'static str, Decimal, Option<Decimal>),
    /// A surface stands so far from the middle of the handset's scale, in percent of the way to its end.
    Surface(&'f Surface, f64),
    /// Another channel receives so many microseconds.
    Pulse(u8, f64),
    /// A stick, knob or slider moves these channels here.
    Moves(CompactString, Vec<u8>),
    /// These functions are the pupil's.
    Pupil(&'f [Name]),
}

/// What moves a pulse by less than this, in microseconds, is not seen.
const SEEN_US: f64 = 0.5;

/// The channels that the aircraft reads; all of the model where it is not stated what it reads.
pub fn channels_read(setup: &Setup<'_>) -> Vec<u8> {
    let used = setup.used().map(|(channel, ..)| channel);
    let mut channels: Vec<u8> = used.filter(|&channel| setup.model.channel(channel).is_some()).collect();
    if channels.is_empty() {
        channels = setup.model.channels.iter().map(|channel| channel.number.value).collect();
    }
    channels.sort_unstable();
    channels
}

/// The controls that some channel of the aircraft hangs on, that hand it over, or that the start check asks for, but for the sticks; in
/// the order of the handset.
pub fn control_uses<'f>(setup: &Setup<'f>, signals: &Signals) -> Vec<ControlUse<'f>> {
    let channels = channels_read(setup);
    let named: Vec<ControlId> =
        channels.iter().flat_map(|&channel| signals.program().mentions(u16::from(channel)).controls).collect();
    let demands = setup.demands(signals);
    let hands_over = |name: &str| {
        let trainer = setup.model.trainer.as_ref().and_then(|trainer| trainer.hand_over.as_ref());
        trainer.is_some_and(|(when, _)| hangs_on(setup.model, when, name))
    };
    let start = Path::at(signals.start(&demands));
    let mut found = Vec::new();
    for (control, kind) in signals.program().controls() {
        let is_used = named.contains(&control)
            || demands.iter().any(|(known, _)| *known == control)
            || hands_over(kind.name.as_str());
        if !is_used || matches!(kind.kind, ControlKind::Stick { .. } | ControlKind::Reported) {
            continue;
        }
        found.push(ControlUse {
            control,
            name: kind.name.clone(),
            asked: demands.iter().find(|(known, _)| *known == control).map(|(_, at)| *at),
            springs_to: springs_to(setup, signals, control),
            places: places(setup, signals, control, &start, &channels),
        });
    }
    found
}

/// Where a control springs back to when it is let go; `None` for one that stays where it is put, and where that is not stated.
pub fn springs_to(setup: &Setup<'_>, signals: &Signals, control: ControlId) -> Option<Setting> {
    if let Some(at) = signals.springs_to(control) {
        return Some(Setting::Position(at));
    }
    let handset = setup.handset?;
    let name = signals.name(control);
    match handset.stick(name) {
        Some(crate::fleet::words::Stick::Throttle) => handset.throttle_springs()?.then_some(Setting::Percent(whole(0))),
        Some(_) => Some(Setting::Percent(whole(0))),
        None => handset.control(name)?.kind.springs().then(|| signals.program().rests_at(Handle::Control(control)))?,
    }
}

/// The positions of a control that are looked at: of an axis both ends and the middle.
pub(super) fn settings(signals: &Signals, control: ControlId) -> Vec<(Setting, CompactString)> {
    if signals.is_axis(control) {
        let named = [(-100, "low"), (0, "centre"), (100, "high")];
        return named
            .map(|(percent, name)| (Setting::Percent(whole(percent)), CompactString::const_new(name)))
            .to_vec();
    }
    let each = 0..signals.positions(control);
    each.map(|at| (Setting::Position(at), signals.position_name(control, at))).collect()
}

/// What is so in one position, before it is compared with the others.
struct Seen<'f> {
    modes: Vec<&'f Mode>,
    others: Vec<Effect<'f>>,
}

fn places<'f>(
    setup: &Setup<'f>,
    signals: &Signals,
    control: ControlId,
    start: &Path,
    channels: &[u8],
) -> Vec<PlaceUse<'f>> {
    let named: Vec<u8> = channels
        .iter()
        .copied()
        .filter(|&channel| signals.program().mentions(u16::from(channel)).controls.contains(&control))
        .collect();
    let settings = settings(signals, control);
    let seen = settings.iter().map(|&(at, _)| {
        let here = start.end().get(Handle::Control(control)) == Some(at);
        let path = match here {
            true => start.clone(),
            false => signals.settled(signals.moved(start, vec![(Handle::Control(control), at)])).0,
        };
        look(setup, signals, control, at, &path, &named)
    });
    let seen: Vec<Seen<'f>> = seen.collect();
    let mut own: Vec<&'f Mode> = Vec::new();
    let everywhere = |mode: &&'f Mode| seen.iter().all(|place| place.modes.iter().any(|known| known.name == mode.name));
    for mode in seen.iter().flat_map(|place| &place.modes) {
        if !everywhere(mode) && !own.iter().any(|known| known.name == mode.name) {
            own.push(mode);
        }
    }
    // What a mode tells need not be told as a pulse too.
    let told: Vec<u8> = own.iter().flat_map(|mode| mode.channels()).collect();
    let places = settings.into_iter().zip(&seen).map(|((at, name), place)| {
        let on = place.modes.iter().filter(|mode| own.iter().any(|known| known.name == mode.name));
        let mut effects: Vec<Effect<'f>> = on.map(|mode| Effect::Mode(mode)).collect();
        if effects.is_empty() && !own.is_empty() {
            effects.push(Effect::NoMode(own.clone()));
        }
        let differs = |effect: &&Effect<'f>| !seen.iter().all(|other| other.others.contains(effect));
        let is_told = |effect: &&Effect<'f>| !matches!(effect, Effect::Pulse(channel, _) if told.contains(channel));
        effects.extend(place.others.iter().filter(differs).filter(is_told).cloned());
        PlaceUse { at, name, effects }
    });
    places.collect()
}

fn look<'f>(
    setup: &Setup<'f>,
    signals: &Signals,
    control: ControlId,
    at: Setting,
    path: &Path,
    named: &[u8],
) -> Seen<'f> {
    let reading = signals.program().play(path);
    let controller = setup.craft.controller.as_ref();
    let parts = signals.program().parts();
    let on = parts.modes.iter().zip(&reading.modes).filter(|(_, on)| **on == Some(true));
    let modes = on.filter_map(|(mode, _)| controller?.mode(&mode.name));
    let modes = modes.filter(|mode| mode.channels().iter().any(|channel| named.contains(channel))).collect();
    let mut others = Vec::new();
    others.extend(stopped(setup, signals, control, at));
    others.extend(rates(setup, signals, path));
    others.extend(pupil(setup, signals, path));
    let motors: Vec<u8> = setup.motor_channels().iter().map(|motor| motor.channel).collect();
    others.extend(
        named
            .iter()
            .filter(|channel| !motors.contains(channel))
            .filter_map(|&channel| stands(setup, signals, &reading, channel)),
    );
    others.extend(moves(signals, control, path, named, &motors));
    Seen { modes, others }
}

/// The channels of the motors that a position keeps idle, and of those that it lets run, where that was decided.
fn stopped<'f>(setup: &Setup<'f>, signals: &Signals, control: ControlId, at: Setting) -> Vec<Effect<'f>> {
    let Setting::Position(at) = at else { return Vec::new() };
    let motors = |has: &dyn Fn(&Stop) -> bool| {
        let motors = setup.motors().iter().zip(setup.stops(signals));
        let of = |stops: &Result<Vec<Stop>, _>| {
            stops.as_ref().is_ok_and(|stops| stops.iter().any(|stop| stop.control == control && has(stop)))
        };
        motors.filter(|(_, stops)| of(stops)).map(|(motor, _)| motor.number()).collect::<Vec<u8>>()
    };
    let both = [
        Effect::Stops(motors(&|stop| stop.stops.contains(&at))),
        Effect::Lets(motors(&|stop| stop.lets.contains(&at))),
    ];
    let is_some = |effect: &Effect<'_>| matches!(effect, Effect::Stops(channels) | Effect::Lets(channels) if !channels.is_empty());
    both.into_iter().filter(is_some).collect()
}

/// The line of a stick's rates that is in force at the end of a path, `None` inside where the stick is as it is; `None` where it is not
/// known.
pub(super) fn in_force<'f>(signals: &Signals, path: &Path, rates: &'f StickRates) -> Option<Option<&'f RateLine>> {
    let held =
        |when: &Condition| signals.lowered().when(when).ok().and_then(|when| signals.program().holds(path, &when));
    for line in &rates.lines {
        match line.when.as_ref().map_or(Some(true), held) {
            Some(true) => return Some(Some(line)),
            Some(false) => {}
            None => return None,
        }
    }
    Some(None)
}

/// The line of rates that is in force for each stick whose rates hang on something.
fn rates<'f>(setup: &Setup<'f>, signals: &Signals, path: &Path) -> Vec<Effect<'f>> {
    let one = |rates: &'f StickRates| {
        Some(match in_force(signals, path, rates)? {
            Some(line) => Effect::Rate(rates.name, line.rate.value, line.expo.map(|expo| expo.value)),
            None => Effect::Rate(rates.name, Decimal::whole(100), None),
        })
    };
    setup
        .model
        .rates
        .iter()
        .filter(|rates| rates.lines.iter().any(|line| line.when.is_some()))
        .filter_map(one)
        .collect()
}

/// Whether a pupil has some functions there.
fn pupil<'f>(setup: &Setup<'f>, signals: &Signals, path: &Path) -> Option<Effect<'f>> {
    let (when, gives) = setup.model.trainer.as_ref()?.hand_over.as_ref()?;
    let when = signals.lowered().when(when).ok()?;
    (signals.program().holds(path, &when) == Some(true)).then_some(Effect::Pupil(gives))
}

/// Where a channel stands.
fn stands<'f>(setup: &Setup<'f>, signals: &Signals, reading: &Reading, channel: u8) -> Option<Effect<'f>> {
    let pulse = float(reading.channel(u16::from(channel))?.received.as_ref()?);
    let surfaces = setup.craft.surfaces.as_ref();
    let surface = surfaces.and_then(|surfaces| surfaces.channels.iter().find(|it| it.channel.value == channel));
    let scale = signals.program().parts().scale;
    Some(match surface {
        Some(surface) => Effect::Surface(surface, (pulse - scale.centre.near()) / scale.span.near() * 100.0),
        None => Effect::Pulse(channel, pulse),
    })
}

/// The sticks, knobs and sliders that move some channel of these there, without those of motors: what stops a motor is told by itself.
fn moves<'f>(signals: &Signals, control: ControlId, path: &Path, named: &[u8], motors: &[u8]) -> Vec<Effect<'f>> {
    let end = signals.program().end_of(path);
    let mut found = Vec::new();
    for (axis, kind) in signals.program().controls().filter(|(axis, _)| *axis != control && signals.is_axis(*axis)) {
        let pulse = |channel: u8, percent: i64| {
            let set = (Handle::Control(axis), Setting::Percent(whole(percent)));
            Some(float(end.read_moved(&[set], u16::from(channel))?.received.as_ref()?))
        };
        let is_moved = |channel: &u8| {
            let ends = pulse(*channel, -100).zip(pulse(*channel, 100));
            ends.is_some_and(|(low, high)| (high - low).abs() > SEEN_US)
        };
        let others = named.iter().copied().filter(|channel| !motors.contains(channel));
        let moved: Vec<u8> = others.filter(is_moved).collect();
        if !moved.is_empty() {
            found.push(Effect::Moves(kind.name.clone(), moved));
        }
    }
    found
}
