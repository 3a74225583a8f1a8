//! Movements on the bench that show what every position of the handset does, with what is to be read after each.
//!
//! The movements are played one after the other from the start, as a pilot makes them, so that latches and all else are as they are on
//! the bench. Each that can be shown is made once. What arms or lets a motor run comes last, so that nothing is live meanwhile.

use super::motors::{MotorChannel, stands_still_at};
use super::of_craft::Setup;
use super::positions::{channels_read, in_force, settings, springs_to};
use super::signals::{Signals, float};
use crate::fleet::Decimal;
use crate::signal::{ControlId, ControlKind, Exact, Function, Handle, Path, Setting, whole};
use std::collections::BTreeSet;

/// A bench check.
#[derive(Clone, Debug)]
pub struct Bench {
    /// Where every control stands at the start that the aircraft's channels hang on, in the order of the handset.
    pub start: Vec<(ControlId, Setting)>,
    /// What is read then.
    pub at_start: View,
    /// The movements.
    pub lines: Vec<BenchLine>,
    /// The positions that none of the movements shows.
    pub unseen: Vec<(ControlId, Setting)>,
}

/// One movement.
#[derive(Clone, Debug)]
pub struct BenchLine {
    /// What is moved, and where to.
    pub moved: (ControlId, Setting),
    /// What the movement is for.
    pub aim: Aim,
    /// For how many seconds to wait then, where something has to be held.
    pub wait: Option<Decimal>,
    /// Whether the control is let go afterwards, and everything is as before.
    pub let_go: bool,
    /// The channels that receive another pulse then.
    pub changes: Vec<Change>,
    /// The modes that come on or go off, by their places in the list of modes.
    pub switched: Vec<(usize, bool)>,
    /// What is read half-way, where a stick with expo is held at its end and this is not told yet.
    pub half_way: Option<HalfWay>,
    /// What was read before.
    pub before: View,
    /// What is read then.
    pub after: View,
    /// All movements up to here.
    pub path: Path,
}

/// What is read where a stick stands half-way between its middle and the end at which it is held: expo can be seen there, and not at the
/// end.
#[derive(Clone, Debug)]
pub struct HalfWay {
    /// The stick.
    pub stick: ControlId,
    /// The channels that receive another pulse than at the end.
    pub changes: Vec<Change>,
    /// What is read.
    pub view: View,
    /// All movements up to there: those of the line, and the stick back half-way.
    pub path: Path,
}

/// What a movement is for.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Aim {
    /// It shows this position.
    Shows,
    /// It shows what a position that was seen before does to what is held.
    Again,
    /// The control is held there so that the next movements can be seen.
    Holds,
    /// It must not start a motor: the throttle is up, and a switch keeps the motor still or would have to find the throttle low.
    Tries,
    /// The control goes back to where it was at the start.
    Back,
}

/// What can be read at a moment.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct View {
    /// The channels that the aircraft reads, with what they receive; `None` where nothing is received, or it is not known.
    pub pulses: Vec<(u8, Option<Exact>)>,
    /// The modes of the controller, in its order; `None` where a pulse is not known.
    pub modes: Vec<Option<bool>>,
}

/// A channel that receives another pulse than before.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Change {
    /// The channel.
    pub channel: u8,
    /// The pulse before, in microseconds.
    pub from: f64,
    /// The pulse now.
    pub to: f64,
    /// Whether it rose.
    pub rises: bool,
    /// Whether the motor that it drives stands still; `None` for what is no motor, and where it is not stated where it idles.
    pub still: Option<bool>,
}

impl View {
    /// What is read over a link at the start, as the start check asks.
    pub fn at_start(setup: &Setup<'_>, signals: &Signals) -> Self {
        let path = Path::at(signals.start(&setup.demands(signals)));
        Self::of(signals, &channels_read(setup), &path)
    }

    /// What is read at the end of a path.
    fn of(signals: &Signals, channels: &[u8], path: &Path) -> Self {
        let reading = signals.program().play(path);
        let pulse = |channel: u8| reading.channel(u16::from(channel)).and_then(|channel| channel.received.clone());
        Self { pulses: channels.iter().map(|&channel| (channel, pulse(channel))).collect(), modes: reading.modes }
    }

    /// What of a channel is received.
    fn pulse(&self, channel: u8) -> Option<&Exact> {
        self.pulses.iter().find(|(known, _)| *known == channel)?.1.as_ref()
    }

    /// The channels that receive another pulse than in another moment.
    fn changed_from(&self, before: &Self, motors: &[MotorChannel]) -> Vec<Change> {
        let pairs = before.pulses.iter().zip(&self.pulses);
        let changed = pairs.filter_map(|((_, from), (channel, to))| {
            let (before, now) = (from.as_ref()?, to.as_ref()?);
            let motor = motors.iter().find(|motor| motor.channel == *channel);
            let still = motor.and_then(|motor| Some(stands_still_at(motor.idle?, now)));
            let (from, to) = (float(before), float(now));
            (before != now).then_some(Change { channel: *channel, from, to, rises: now > before, still })
        });
        changed.collect()
    }

    /// The modes that came on and went off since another moment, by their places in the list of modes.
    fn switched_from(&self, before: &Self) -> Vec<(usize, bool)> {
        let pairs = before.modes.iter().zip(&self.modes).enumerate();
        pairs.filter_map(|(at, (from, to))| to.filter(|_| from != to).map(|on| (at, on))).collect()
    }
}

impl Bench {
    /// The bench check of an aircraft.
    pub fn of(setup: &Setup<'_>, signals: &Signals) -> Self {
        let channels = channels_read(setup);
        let mut named: Vec<ControlId> = Vec::new();
        for control in channels.iter().flat_map(|&channel| signals.program().mentions(u16::from(channel)).controls) {
            if !named.contains(&control) {
                named.push(control);
            }
        }
        named.sort_unstable();
        let is_told = |control: &ControlId| {
            let known = signals.program().controls().find(|(id, _)| id == control);
            known.is_some_and(|(_, control)| control.kind == ControlKind::Reported)
        };
        named.retain(|control| !is_told(control));
        let path = Path::at(signals.start(&setup.demands(signals)));
        let start: Vec<(ControlId, Setting)> =
            named.iter().filter_map(|&control| Some((control, path.start.get(Handle::Control(control))?))).collect();
        let gates = gates(setup, signals);
        let is_left = |item: &(ControlId, Setting)| !start.contains(item);
        let left = named.iter().flat_map(|&control| {
            let springs = springs_to(setup, signals, control).is_some();
            // The middle of an axis that springs back there is seen each time it is let go, and that of a stick shows nothing more.
            let all = settings(signals, control).into_iter().map(|(at, _)| at);
            let centre = Setting::Percent(whole(0));
            let is_stick = signals
                .program()
                .controls()
                .any(|(id, known)| id == control && matches!(known.kind, ControlKind::Stick { .. }));
            all.filter(move |at| *at != centre || !(springs || is_stick)).map(move |at| (control, at))
        });
        let left: Vec<(ControlId, Setting)> = left.filter(is_left).collect();
        let mut walk = Walk { setup, signals, now: View::default(), channels, path, start, left, lines: Vec::new() };
        walk.now = walk.view(&walk.path);
        let at_start = walk.now.clone();
        walk.whole(&gates);
        Self { start: walk.start, at_start, lines: walk.lines, unseen: walk.left }
    }
}

/// The switches that arm, or let a motor run: they are moved last.
fn gates(setup: &Setup<'_>, signals: &Signals) -> BTreeSet<ControlId> {
    let arming = signals.arming_controls().unwrap_or_default().iter().copied();
    let stops = setup.stops(signals).iter().flatten().flatten().map(|stop| stop.control);
    arming.chain(stops).collect()
}

struct Walk<'s, 'f> {
    setup: &'s Setup<'f>,
    signals: &'s Signals,
    channels: Vec<u8>,
    /// All movements so far.
    path: Path,
    now: View,
    start: Vec<(ControlId, Setting)>,
    /// What is still to be shown.
    left: Vec<(ControlId, Setting)>,
    lines: Vec<BenchLine>,
}

impl Walk<'_, '_> {
    fn whole(&mut self, gates: &BTreeSet<ControlId>) {
        self.axes();
        let others = |walk: &Self, is_gate: bool| -> Vec<ControlId> {
            let all = walk.start.iter().map(|(control, _)| *control);
            all.filter(|control| gates.contains(control) == is_gate).collect()
        };
        for control in others(self, false) {
            self.visit(control, false);
        }
        for control in others(self, false) {
            match self.places(control).is_empty() {
                true => self.visit_again_while_holding(control),
                false => self.visit_while_holding(control),
            }
        }
        self.tries(gates);
        for control in others(self, true) {
            self.visit(control, true);
        }
        for control in others(self, true) {
            self.visit_while_holding(control);
        }
    }

    /// Tries what must not start a motor, where it does not: the throttle goes up while a gate keeps the motor still, and each gate is
    /// moved while the throttle is up. What starts a motor all the same is not tried with the throttle up.
    fn tries(&mut self, gates: &BTreeSet<ControlId>) {
        let Some(throttle) = self.signals.stick(Function::Throttle).filter(|_| !gates.is_empty()) else { return };
        let up = (throttle, Setting::Percent(whole(100)));
        if !self.stays_still(&self.then(&self.path, up).0) {
            return;
        }
        self.make(up, Aim::Tries);
        for &control in gates {
            for (at, _) in settings(self.signals, control) {
                let is_there = self.path.end().get(Handle::Control(control)) == Some(at);
                if !is_there && self.stays_still(&self.then(&self.path, (control, at)).0) {
                    self.make((control, at), Aim::Tries);
                    self.back(control);
                }
            }
        }
        self.back(throttle);
    }

    /// Whether every motor is known to stand still at the end of a path, and nothing asks to arm.
    fn stays_still(&self, path: &Path) -> bool {
        let (view, motors) = (self.view(path), self.setup.motor_channels());
        let is_still = |motor: &MotorChannel| {
            motor.idle.zip(view.pulse(motor.channel)).is_some_and(|(idle, pulse)| stands_still_at(idle, pulse))
        };
        let arms = self.signals.arm().map(|arm| view.modes.get(usize::from(arm.0)));
        !motors.is_empty() && motors.iter().all(is_still) && arms.is_none_or(|on| on == Some(&Some(false)))
    }

    /// What is read at the end of a path.
    fn view(&self, path: &Path) -> View {
        View::of(self.signals, &self.channels, path)
    }

    fn then(&self, path: &Path, (control, at): (ControlId, Setting)) -> (Path, Option<Decimal>) {
        self.signals.settled(self.signals.moved(path, vec![(Handle::Control(control), at)]))
    }

    fn start_of(&self, control: ControlId) -> Option<Setting> {
        self.start.iter().find(|(known, _)| *known == control).map(|(_, at)| *at)
    }

    /// Makes a movement, and notes what is read then.
    fn make(&mut self, moved: (ControlId, Setting), aim: Aim) {
        let (path, wait) = self.then(&self.path, moved);
        let after = self.view(&path);
        let before = std::mem::replace(&mut self.now, after.clone());
        self.path = path.clone();
        // What is tried with the throttle up is still to be shown with the throttle low.
        if aim != Aim::Tries {
            self.left.retain(|item| *item != moved);
        }
        let changes = after.changed_from(&before, self.setup.motor_channels());
        let switched = after.switched_from(&before);
        let is_tried = matches!(aim, Aim::Tries | Aim::Back);
        let half_way = (!is_tried && !changes.is_empty()).then(|| self.half_way(&path, &after)).flatten();
        self.lines.push(BenchLine {
            moved,
            aim,
            wait,
            let_go: false,
            changes,
            switched,
            half_way,
            before,
            after,
            path,
        });
    }

    /// What is read half-way to the end at which a stick with expo is held after a path, where no line before tells just that.
    fn half_way(&self, path: &Path, after: &View) -> Option<HalfWay> {
        let end = path.end();
        let held = self.setup.model.rates.iter().find_map(|rates| {
            let stick = self.signals.lowered().control(rates.name)?;
            let is_held = end.get(Handle::Control(stick)) == Some(Setting::Percent(whole(100)));
            let line = in_force(self.signals, path, rates)??;
            (is_held && line.expo.is_some_and(|expo| expo.value != Decimal::whole(0))).then_some(stick)
        })?;
        let (there, _) = self.then(path, (held, Setting::Percent(whole(50))));
        let view = self.view(&there);
        let back = self.view(&self.then(&there, (held, Setting::Percent(whole(100)))).0);
        let changes = view.changed_from(after, self.setup.motor_channels());
        let is_told = self.lines.iter().filter_map(|line| line.half_way.as_ref()).any(|half| half.changes == changes);
        // What hangs on the way that a stick came is no reading to compare with.
        if is_told || back != *after {
            return None;
        }
        (!changes.is_empty()).then_some(HalfWay { stick: held, changes, view, path: there })
    }

    /// Puts a control back where it was at the start: where it springs back by itself and all is as it was before, that is no line.
    fn back(&mut self, control: ControlId) {
        let Some(at) = self.start_of(control) else { return };
        if self.path.end().get(Handle::Control(control)) == Some(at) {
            return;
        }
        let springs = springs_to(self.setup, self.signals, control) == Some(at);
        let (path, wait) = self.then(&self.path, (control, at));
        let after = self.view(&path);
        if let Some(line) = self.lines.last_mut()
            && springs
            && line.moved.0 == control
            && line.before == after
            && wait.is_none()
        {
            line.let_go = true;
            (self.path, self.now) = (path, after);
            return;
        }
        self.make((control, at), Aim::Back);
    }

    /// Shows every end of a stick, knob or slider that can be seen now.
    fn axes(&mut self) {
        let axes: Vec<ControlId> =
            self.start.iter().map(|(control, _)| *control).filter(|&control| self.signals.is_axis(control)).collect();
        for control in axes {
            let ends: Vec<_> = self.left.iter().copied().filter(|(known, _)| *known == control).collect();
            let mut is_moved = false;
            for end in ends {
                if self.view(&self.then(&self.path, end).0) != self.now {
                    self.make(end, Aim::Shows);
                    is_moved = true;
                    if springs_to(self.setup, self.signals, control).is_some() {
                        self.back(control);
                    }
                }
            }
            if is_moved {
                self.back(control);
            }
        }
    }

    /// Shows every position of a switch or button that can be seen now, and in each of a gate what can only be seen there.
    fn visit(&mut self, control: ControlId, is_gate: bool) {
        let places = self.places(control);
        if places.is_empty() || self.signals.is_axis(control) {
            return;
        }
        if !(self.tells_apart(&self.path, control) || is_gate && (self.opens(control) || self.opens_held(control))) {
            return;
        }
        for place in places {
            let before = self.path.clone();
            self.make(place, Aim::Shows);
            if is_gate {
                self.in_gate(place, &before);
            }
            if springs_to(self.setup, self.signals, control).is_some() {
                self.back(control);
            }
        }
        if !is_gate {
            // In some position a stick may move what it moves nowhere else.
            self.only_here(control);
        }
        self.back(control);
    }

    /// Shows what can only be seen in a position of a gate. `before` is the way to where the gate was moved.
    fn in_gate(&mut self, place: (ControlId, Setting), before: &Path) {
        self.axes();
        let others: Vec<ControlId> =
            self.start.iter().map(|(other, _)| *other).filter(|other| *other != place.0).collect();
        others.iter().for_each(|&other| self.visit(other, false));
        others.iter().for_each(|&other| self.visit_while_holding(other));
        let is_seen = self.lines.last().is_some_and(|line| line.moved != place || line.before != line.after);
        if !is_seen && let Some(end) = self.differs_held(before, &self.path) {
            self.make(end, Aim::Holds);
            self.back(end.0);
        }
    }

    /// The ends to which sticks, knobs and sliders can be moved from where they are at the start.
    fn ends(&self) -> Vec<(ControlId, Setting)> {
        let axes = self.start.iter().map(|(axis, _)| *axis).filter(|&axis| self.signals.is_axis(axis));
        let ends = axes.flat_map(|axis| [100, -100].map(|end| (axis, Setting::Percent(whole(end)))));
        ends.filter(|end| !self.start.contains(end)).collect()
    }

    /// The end of a stick at which two ways lead to something else.
    fn differs_held(&self, one: &Path, other: &Path) -> Option<(ControlId, Setting)> {
        let view = |path: &Path, end| self.view(&self.then(path, end).0);
        self.ends().into_iter().find(|&end| view(one, end) != view(other, end))
    }

    /// Whether a position of a switch can be seen only while a stick is held that was moved after it, or lets another switch be seen so.
    fn opens_held(&self, control: ControlId) -> bool {
        self.places(control).into_iter().any(|place| {
            let (path, _) = self.then(&self.path, place);
            let others = || self.left.iter().map(|(other, _)| *other).filter(|other| *other != control);
            let is_open = |end: &(ControlId, Setting)| {
                let held = self.then(&path, *end).0;
                others().any(|other| !self.signals.is_axis(other) && self.tells_apart(&held, other))
            };
            self.differs_held(&self.path, &path).is_some() || self.ends().iter().any(is_open)
        })
    }

    /// Whether in some position of a switch something can be seen of another control that is still to be shown.
    fn opens(&self, control: ControlId) -> bool {
        settings(self.signals, control).into_iter().any(|(at, _)| self.opens_at(control, at, |_| true))
    }

    /// The same of one position, and of some of the others.
    fn opens_at(&self, control: ControlId, at: Setting, of: impl Fn(ControlId) -> bool) -> bool {
        let (path, _) = self.then(&self.path, (control, at));
        let view = self.view(&path);
        let mut others = self.left.iter().filter(|(other, _)| *other != control && of(*other));
        others.any(|item| self.view(&self.then(&path, *item).0) != view)
    }

    /// Shows the ends of sticks that can be seen in a position of a switch only.
    fn only_here(&mut self, control: ControlId) {
        let all = settings(self.signals, control);
        for (at, _) in all {
            if self.opens_at(control, at, |other| self.signals.is_axis(other)) {
                if self.path.end().get(Handle::Control(control)) != Some(at) {
                    self.make((control, at), Aim::Holds);
                }
                self.axes();
            }
        }
    }

    /// Shows every position of a switch that can be seen only while a stick, knob or slider is held at an end.
    fn visit_while_holding(&mut self, control: ControlId) {
        if self.places(control).is_empty() || self.signals.is_axis(control) {
            return;
        }
        let mut ends = self.ends().into_iter();
        let Some(held) = ends.find(|&end| self.tells_apart(&self.then(&self.path, end).0, control)) else { return };
        self.make(held, Aim::Holds);
        for place in self.places(control) {
            self.make(place, Aim::Shows);
        }
        self.back(control);
        self.back(held.0);
    }

    /// Shows what the positions of a switch do to a stick, knob or slider that is held at an end, where they were seen by what they do to
    /// other channels.
    fn visit_again_while_holding(&mut self, control: ControlId) {
        if self.signals.is_axis(control) {
            return;
        }
        let mut ends = self.ends().into_iter();
        let Some(held) = ends.find(|&end| self.changes_only_held(control, end)) else { return };
        let stands = self.path.end().get(Handle::Control(control));
        self.make(held, Aim::Holds);
        for (at, _) in settings(self.signals, control).into_iter().filter(|(at, _)| Some(*at) != stands) {
            self.make((control, at), Aim::Again);
        }
        self.back(control);
        self.back(held.0);
    }

    /// Whether a switch changes a channel while something is held at an end, and not while it is let go.
    fn changes_only_held(&self, control: ControlId, end: (ControlId, Setting)) -> bool {
        let held = self.then(&self.path, end).0;
        let with_end = self.view(&held);
        settings(self.signals, control).into_iter().any(|(at, _)| {
            let (alone, both) =
                (self.view(&self.then(&self.path, (control, at)).0), self.view(&self.then(&held, (control, at)).0));
            let is_so = |channel: &u8| {
                both.pulse(*channel) != with_end.pulse(*channel) && alone.pulse(*channel) == self.now.pulse(*channel)
            };
            self.channels.iter().any(is_so)
        })
    }

    /// The positions of a control that are still to be shown.
    fn places(&self, control: ControlId) -> Vec<(ControlId, Setting)> {
        self.left.iter().copied().filter(|(known, _)| *known == control).collect()
    }

    /// Whether something that is read at the end of a path hangs on where a control stands.
    fn tells_apart(&self, path: &Path, control: ControlId) -> bool {
        let views =
            settings(self.signals, control).into_iter().map(|(at, _)| self.view(&self.then(path, (control, at)).0));
        let here = self.view(path);
        views.into_iter().any(|view| view != here)
    }
}
