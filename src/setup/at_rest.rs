//! Where controls that spring back rest, and what stands where when the controls are as the start check asks for them.

use super::motors::Motor;
use super::signals::{Signals, float};
use super::subject::Subject;
use crate::fleet::craft::Surface;
use crate::fleet::equipment::{ControlKind, Handset};
use crate::fleet::model::BeforeStart;
use crate::fleet::words::{AxisPosition, Stick, Way};
use crate::signal::{
    Bound, Bounds, Condition, ControlId, Exact, Function, Handle, Kept, Movers, Path, Question, Setting, whole,
};
use compact_str::CompactString;

/// How much further a brake has to stand out at one end of its lever than at the other to be out there, as a share of the handset's
/// whole scale (common practice, no source).
const OUT: f64 = 0.25;

/// How far from the middle of the handset's scale a pulse has to be to be on one side of it, in microseconds: less is a servo's
/// middle (common practice, no source).
const ASIDE_US: f64 = 50.0;

/// Where an axis of a handset springs back to; `None` for one that stays, where that is not stated, and for what is no
/// axis.
fn axis_rest(handset: &Handset, control: &str) -> Option<AxisPosition> {
    match handset.stick(control) {
        Some(Stick::Throttle) => handset.throttle_springs()?.then_some(AxisPosition::Centre),
        Some(Stick::Roll | Stick::Pitch | Stick::Yaw) => Some(AxisPosition::Centre),
        None => match handset.control(control)?.kind {
            ControlKind::Knob { sprung_to } | ControlKind::Slider { sprung_to } => sprung_to,
            ControlKind::Switch { .. } | ControlKind::Button { .. } => None,
        },
    }
}

/// A start check that asks for a position in which its control does not rest.
#[derive(Clone, Debug)]
pub struct Unmet<'f> {
    /// The start check.
    pub start: &'f BeforeStart,
    /// Where the control springs back to.
    pub rest: CompactString,
}

/// The start checks that are met only while a control that springs back is held.
pub(super) fn unmet<'f>(subject: &Subject<'f>) -> Vec<Unmet<'f>> {
    let Some(handset) = subject.handset else { return Vec::new() };
    let unmet = |start: &'f BeforeStart| {
        let (control, position) = (start.control.value.as_str(), start.position.value.as_str());
        if let Some(rest) = axis_rest(handset, control) {
            return (rest.word() != position).then(|| Unmet { start, rest: rest.word().into() });
        }
        let kind = handset.control(control)?.kind;
        let rest = kind.rest()?;
        (kind.position(position)? != rest).then(|| Unmet { start, rest: kind.position_name(rest) })
    };
    subject.model.before_start.iter().filter_map(unmet).collect()
}

/// A control that springs back to where a motor runs.
#[derive(Clone, Debug)]
pub struct RunsAtRest {
    /// The control.
    pub control: ControlId,
    /// Whether some state with the control at rest has the motor running, and one movement of it to somewhere else stops it.
    pub question: Question,
}

/// For each axis that springs back and stands in the values of a motor that runs one way: does the motor run with the control at
/// rest, and stand still where it is moved elsewhere?
pub(super) fn run_at_rest(subject: &Subject<'_>, signals: &Signals, motor: &Motor<'_>) -> Vec<RunsAtRest> {
    let Some(handset) = subject.handset.filter(|_| !motor.reversible) else { return Vec::new() };
    let named = signals.program().mentions(u16::from(motor.number())).controls;
    let others = [Stick::Roll, Stick::Pitch, Stick::Yaw].map(Some);
    let axes = named.into_iter().filter(|&control| signals.is_axis(control));
    // What moves a motor beside the throttle stick has a rule of its own.
    let axes = axes.filter(|&control| !others.contains(&handset.stick(signals.name(control))));
    let found = axes.filter_map(|control| {
        let rest = axis_rest(handset, signals.name(control))?;
        Some(RunsAtRest { control, question: runs_at(signals, motor, control, rest, None)? })
    });
    found.collect()
}

/// The same of the throttle stick of a pupil's handset, which springs to its centre, while the pupil has it.
pub(super) fn runs_for_pupil(
    signals: &Signals,
    motor: &Motor<'_>,
    pupil: &Handset,
    hand_over: &Condition,
) -> Option<Question> {
    let rest = pupil.throttle_springs()?.then_some(AxisPosition::Centre)?;
    let stick = signals.stick(Function::Throttle).filter(|_| !motor.reversible)?;
    runs_at(signals, motor, stick, rest, Some(hand_over))
}

/// Does a motor run with an axis at a place while something holds, and does one movement of the axis stop it?
fn runs_at(
    signals: &Signals,
    motor: &Motor<'_>,
    control: ControlId,
    rest: AxisPosition,
    given: Option<&Condition>,
) -> Option<Question> {
    let at = Some(Bound { at: whole(rest.percent()), strict: false });
    let here = Condition::Axis(control, Bounds { low: at, high: at });
    let state = [here, motor.runs()?].into_iter().chain(given.cloned()).collect();
    let question = Question::is(Condition::All(state)).then(Movers::These(vec![control]), motor.idles()?);
    let centred = super::stick_way::centred(signals, question);
    // A trim that lifts the rest has a rule of its own.
    Some(match signals.stick(Function::Throttle) {
        Some(stick) => centred.keeping(Handle::Trim(stick), Kept::At(Setting::Percent(whole(0)))),
        None => centred,
    })
}

/// What stands where it should not when the controls are as the start check asks for them.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Stands {
    /// A gear that is up.
    GearUp,
    /// A release that is open.
    Open,
    /// A brake or a flap that is further out where its lever stands than at the lever's other end.
    Out(Lever),
    /// A brake of wheels or of a shaft that is on where its lever stands.
    On(Lever),
}

/// A lever, and where it stands at the start.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Lever {
    /// The control.
    pub control: ControlId,
    /// Whether it stands in the upper half of its way.
    pub is_high: bool,
    /// Whether the start check asks for it, rather than that it springs there.
    pub is_asked: bool,
}

/// A part that stands so.
#[derive(Clone, Debug)]
pub struct AtStart<'f> {
    /// The part.
    pub surface: &'f Surface,
    /// How it stands.
    pub stands: Stands,
    /// What is sent to it.
    pub pulse: Exact,
    /// The way to that state.
    pub path: Path,
}

/// What stands where it should not with the controls as the start check asks for them and what springs back at rest. Of a part of
/// which a control may stand anywhere nothing is said.
pub(super) fn at_start<'f>(
    subject: &Subject<'f>,
    signals: &Signals,
    demands: &[(ControlId, Setting)],
) -> Vec<AtStart<'f>> {
    let (Some(surfaces), Some(handset)) = (&subject.craft.surfaces, subject.handset) else { return Vec::new() };
    let Some(scale) = &handset.scale else { return Vec::new() };
    let (centre, span) = (scale.value.0.to_f64(), scale.value.1.to_f64());
    let start = Path::at(signals.start(demands));
    let asked = |control: ControlId| demands.iter().find(|(known, _)| *known == control).map(|(_, setting)| *setting);
    let is_known = |control: &ControlId| {
        asked(*control).is_some()
            || signals.springs_to(*control).is_some()
            || axis_rest(handset, signals.name(*control)).is_some()
    };
    let mut found = Vec::new();
    for surface in &surfaces.channels {
        let channel = surface.channel.value;
        let named = signals.program().mentions(u16::from(channel)).controls;
        let read = |path: &Path| signals.program().read(path, u16::from(channel)).map(|reading| reading.sent);
        let (Some(pulse), Some(high)) = (read(&start), surface.high_is.map(|way| way.value)) else { continue };
        let above = float(&pulse) - centre;
        let stands = match high {
            Way::Down | Way::Up if surface.has("gear") => {
                let up = if high == Way::Up { above } else { -above };
                (up > ASIDE_US).then_some(Stands::GearUp)
            }
            Way::Open if surface.has("release") => (above > ASIDE_US).then_some(Stands::Open),
            _ => None,
        };
        if let Some(stands) = stands.filter(|_| !named.is_empty() && named.iter().all(is_known)) {
            found.push(AtStart { surface, stands, pulse, path: start.clone() });
            continue;
        }
        let is_on = surface.is_wheel_brake();
        // The wheels of an aircraft may be held before it starts.
        if is_on && !subject.craft.stays_down() {
            continue;
        }
        let out = match high {
            // A flap that brakes goes down for it.
            Way::Down if surface.has("flap") => 1.0,
            Way::Up if surface.has("flap") => -1.0,
            Way::Up | Way::Open | Way::On if surface.has("brake") || surface.has("spoiler") => 1.0,
            Way::Down if surface.has("brake") || surface.has("spoiler") => -1.0,
            _ => continue,
        };
        // One switch is moved at a time: a brake is often let out of its lever in one position only.
        let switches = named.iter().copied().filter(|&control| signals.positions(control) > 0);
        let moved = switches.flat_map(|control| {
            let start = &start;
            (0..signals.positions(control)).map(move |at| start.clone().then(control, Setting::Position(at)))
        });
        let states: Vec<Path> = std::iter::once(start.clone()).chain(moved).collect();
        let levers = named.iter().filter_map(|&control| {
            let rest = || axis_rest(handset, signals.name(control)).map(|rest| Setting::Percent(whole(rest.percent())));
            match asked(control).or_else(rest)? {
                Setting::Percent(percent) if signals.is_axis(control) => Some((control, percent)),
                _ => None,
            }
        });
        let shown =
            levers.flat_map(|lever| states.iter().map(move |state| (lever, state))).find_map(|(lever, state)| {
                let (control, percent) = lever;
                let here = read(state)?;
                let there = read(&state.clone().then(control, Setting::Percent(percent.negate())))?;
                let further = (float(&here) - float(&there)) * out;
                let lever = Lever { control, is_high: percent > whole(0), is_asked: asked(control).is_some() };
                (further > OUT * 2.0 * span).then(|| (lever, here, state.clone()))
            });
        if let Some((lever, pulse, path)) = shown {
            let stands = if is_on { Stands::On(lever) } else { Stands::Out(lever) };
            found.push(AtStart { surface, stands, pulse, path });
        }
    }
    found
}
