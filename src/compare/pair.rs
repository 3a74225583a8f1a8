//! Two programs side by side: something is read on both in single positions, or asked of both together.

use super::join::{Joined, Timed, apart, join, own_number};
use crate::fleet::craft::Idle;
use crate::setup::{float, stands_still_at, still};
use crate::signal::{
    Answer, Bounds, Carriage, Condition, ConditionId, Control, ControlId, ControlKind, Exact, Handle, Measure, ModeId,
    Path, Program, Question, Rational64, Reading, Setting, Stand, Why, exact, whole,
};
use rustc_hash::FxHashSet;

/// Pulses closer than this, in us, are shown alike.
fn least() -> Rational64 {
    Rational64::new(1, 10).unwrap_or(whole(0))
}

/// Carried with more levels than this, a channel counts as the same where what is sent is closer than one of them.
const FEW_LEVELS: u32 = 100;

/// So many positions are looked at before anything is asked.
const LOOKS: usize = 400;

/// Something that is read on both sides. What is on or off has a watch for each of both ways.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Watch {
    /// A mode, by its name now: it is on now and was not, or the other way round.
    Mode { old: ModeId, new: ModeId, name: String, now: bool },
    /// Whether a motor stands still.
    Still { channel: u8, old: Idle, new: Idle, now: bool },
    /// A named condition that something other than a channel hangs on.
    Named { old: ConditionId, new: ConditionId, name: String, now: bool },
    /// The pulse that arrives on a channel, or else is sent.
    Pulse(u16),
}

/// What is read of a watch on one side.
#[derive(Clone, PartialEq, Debug)]
pub(super) enum Seen {
    On(bool),
    Us(Exact),
}

/// What became of a watch.
#[derive(Debug)]
pub(super) enum Verdict {
    /// It reads the same everywhere, proved.
    Same,
    /// It differs at the end of this path of both together.
    Differs(Path),
    /// Neither was shown, and why.
    Open(String),
}

/// How the pulses of a channel are held against each other.
enum By {
    /// By the levels with which one of the sides carries it: so many, and whether it is the new one.
    Levels(u32, bool),
    /// By what is sent: more than so many us apart.
    Sent(Rational64),
}

/// Two programs side by side.
pub(super) struct Pair<'p> {
    pub(super) old: &'p Program,
    pub(super) new: &'p Program,
    pub(super) joined: Joined,
}

impl<'p> Pair<'p> {
    pub(super) fn new(old: Timed<'p>, new: Timed<'p>) -> Self {
        Self { old: old.program, new: new.program, joined: join(old, new) }
    }

    /// A path of both together as each side sees it.
    pub(super) fn paths(&self, path: &Path) -> (Path, Path) {
        let (old, new) = (&self.joined.old, &self.joined.new);
        (old.path(path, self.old.parts()), new.path(path, self.new.parts()))
    }

    /// What is read on each side at the end of a path.
    pub(super) fn play(&self, path: &Path) -> (Reading, Reading) {
        let (old, new) = self.paths(path);
        (self.old.play(&old), self.new.play(&new))
    }

    /// What is read of a watch on each side; nothing where one of them is not known.
    pub(super) fn seen(watch: &Watch, old: &Reading, new: &Reading) -> Option<(Seen, Seen)> {
        let on = |on: Option<&Option<bool>>| on.copied().flatten().map(Seen::On);
        Some(match watch {
            Watch::Mode { old: one, new: other, .. } => {
                (on(old.modes.get(usize::from(one.0)))?, on(new.modes.get(usize::from(other.0)))?)
            }
            Watch::Named { old: one, new: other, .. } => {
                (on(old.conditions.get(usize::from(one.0)))?, on(new.conditions.get(usize::from(other.0)))?)
            }
            Watch::Still { channel, old: one, new: other, .. } => {
                let still = |reading: &Reading, idle: Idle| {
                    let received = reading.channel(u16::from(*channel))?.received.as_ref()?;
                    Some(Seen::On(stands_still_at(idle, received)))
                };
                (still(old, *one)?, still(new, *other)?)
            }
            Watch::Pulse(number) => (arrives(old, *number)?, arrives(new, *number)?),
        })
    }

    /// Whether readings of both sides show that a watch differs.
    pub(super) fn differs(&self, watch: &Watch, old: &Reading, new: &Reading) -> bool {
        let further = |one: &Exact, other: &Exact, least: Rational64| {
            let apart = one.minus(other);
            apart > exact(least) || apart.negate() > exact(least)
        };
        match watch {
            Watch::Mode { now, .. } | Watch::Still { now, .. } | Watch::Named { now, .. } => {
                Self::seen(watch, old, new) == Some((Seen::On(!now), Seen::On(*now)))
            }
            Watch::Pulse(number) => match self.by(*number) {
                By::Levels(..) => {
                    let seen = arrives(old, *number).zip(arrives(new, *number));
                    matches!(seen, Some((Seen::Us(one), Seen::Us(other))) if further(&one, &other, least()))
                }
                By::Sent(least) => {
                    let sent = |reading: &Reading| reading.channel(*number).map(|channel| channel.sent.clone());
                    sent(old).zip(sent(new)).is_some_and(|(one, other)| further(&one, &other, least))
                }
            },
        }
    }

    fn carriage(&self, number: u16) -> (Option<Carriage>, Option<Carriage>) {
        let of = |program: &Program| program.channel(number).map(|channel| channel.carriage);
        (of(self.old), of(self.new))
    }

    fn by(&self, number: u16) -> By {
        let levels = |carriage: Option<Carriage>| match carriage {
            Some(Carriage::Levels(levels)) => Some(levels),
            _ => None,
        };
        let (old, new) = self.carriage(number);
        let (old, new) = (levels(old), levels(new));
        let few = |levels: &u32| *levels <= FEW_LEVELS;
        match (new.filter(few), old.filter(few)) {
            (Some(levels), _) => By::Levels(levels, true),
            (None, Some(levels)) => By::Levels(levels, false),
            (None, None) => {
                let step = |levels: Option<u32>, program: &Program| {
                    let steps = i64::from(levels?.max(2) - 1);
                    let span = exact(program.parts().scale.span);
                    Some(span.times(&exact(Rational64::new(2, steps)?)).rounded())
                };
                let steps = step(old, self.old).into_iter().chain(step(new, self.new));
                By::Sent(steps.fold(least(), |most, step| if step > most { step } else { most }))
            }
        }
    }

    /// Looks at positions near rest; what they show is shown with the fewest movements. Gives what was shown, and keeps the rest.
    pub(super) fn look(&self, watches: &mut Vec<Watch>) -> Vec<(Watch, Path)> {
        let mut shown = Vec::new();
        for path in self.near_rest(watches) {
            if watches.is_empty() {
                break;
            }
            let (old, new) = self.play(&path);
            watches.retain(|watch| {
                let differs = self.differs(watch, &old, &new);
                if differs {
                    shown.push((watch.clone(), path.clone()));
                }
                !differs
            });
        }
        shown
    }

    /// Rest, then each control elsewhere from the start, then moved there, then two of them.
    fn near_rest(&self, watches: &[Watch]) -> Vec<Path> {
        let rest = self.rest();
        let controls = self.controls_of(watches);
        let is_added = |control: ControlId, to: Setting| matches!(to, Setting::Position(at) if self.joined.added.contains(&(control, at)));
        let mut all: Vec<(ControlId, Setting)> = Vec::new();
        for (id, control) in (0..).map(ControlId).zip(&self.joined.controls).filter(|(id, _)| controls.contains(id)) {
            let away = settings(control).into_iter().filter(|to| rest.get(Handle::Control(id)) != Some(*to));
            all.extend(away.filter(|to| !is_added(id, *to)).map(|to| (id, to)));
        }
        let at = |sets: &[(ControlId, Setting)]| {
            let mut stand = rest.clone();
            sets.iter().for_each(|(control, to)| stand.set(Handle::Control(*control), *to));
            Path::at(stand)
        };
        let moved = |sets: &[(ControlId, Setting)]| {
            sets.iter().fold(Path::at(rest.clone()), |path, (control, to)| path.then(*control, *to))
        };
        let mut paths = vec![Path::at(rest.clone())];
        paths.extend(all.iter().map(|one| at(&[*one])));
        paths.extend(all.iter().map(|one| moved(&[*one])));
        for one in &all {
            let others = all.iter().filter(|other| other.0 != one.0);
            paths.extend(others.flat_map(|other| [at(&[*one, *other]), moved(&[*one, *other])]));
            if paths.len() > LOOKS {
                break;
            }
        }
        paths.truncate(LOOKS);
        paths
    }

    /// The controls, as both together number them, that something watched may hang on.
    fn controls_of(&self, watches: &[Watch]) -> FxHashSet<ControlId> {
        let mut found = FxHashSet::default();
        let all = (0..self.joined.controls.len() as u16).map(ControlId);
        for watch in watches {
            let of_mode = |program: &Program, mode: ModeId| -> Vec<u16> {
                let mode = program.parts().modes.get(usize::from(mode.0));
                mode.iter().flat_map(|mode| mode.any_of.iter().flatten()).map(|test| test.0).collect()
            };
            let (old, new) = match watch {
                Watch::Named { .. } => {
                    found.extend(all);
                    return found;
                }
                Watch::Mode { old, new, .. } => (of_mode(self.old, *old), of_mode(self.new, *new)),
                Watch::Still { channel, .. } => (vec![u16::from(*channel)], vec![u16::from(*channel)]),
                Watch::Pulse(number) => (vec![*number], vec![*number]),
            };
            for number in old {
                let there = &self.joined.old.controls;
                let own = self.old.mentions(number).controls;
                found.extend(own.iter().filter_map(|id| there.get(usize::from(id.0))).map(|(id, _)| *id));
            }
            found.extend(new.into_iter().flat_map(|number| self.new.mentions(number).controls));
        }
        found
    }

    /// Where everything rests: as on the new side, and as on the old one where that has more.
    pub(super) fn rest(&self) -> Stand {
        let (old, mut rest) = (self.old.rest(), self.new.rest());
        for (at, (is, _)) in self.joined.old.controls.iter().enumerate() {
            if usize::from(is.0) == rest.controls.len() {
                rest.controls.push(old.controls.get(at).copied().unwrap_or(Setting::Position(0)));
                rest.trims.push(whole(0));
            }
        }
        rest
    }

    /// Asks both programs together whether a watch differs anywhere. A difference is played on both sides before it counts.
    pub(super) fn verdict(&self, watch: &Watch) -> Verdict {
        let program = match &self.joined.program {
            Ok(program) => program,
            Err(why) => return Verdict::Open(why.clone()),
        };
        let Some(states) = self.apart(watch) else {
            return Verdict::Open("a number comes up that is too fine".to_owned());
        };
        let ask = |state: Condition| {
            let state = self.joined.given.clone().and(state);
            program.ask(&Question { fixed: self.joined.fixed.clone(), ..Question::is(state) })
        };
        // Where the same is sent and carried alike, no level has to be looked at.
        if let (Watch::Pulse(number), true) = (watch, states.len() > 2)
            && matches!(self.carriage(*number), (old, new) if old == new)
            && sent_apart(*number, whole(0)).into_iter().all(|state| ask(state).is_no())
        {
            return Verdict::Same;
        }
        let mut open = None;
        for state in states {
            match ask(state) {
                Answer::No(_) => {}
                Answer::NotDecided(Why::NotKnown(number)) => {
                    open = Some(Why::NotKnown(own_number(number)).to_string());
                }
                Answer::NotDecided(reason) => open = Some(reason.to_string()),
                Answer::Yes(witness) => {
                    if self.differs_at(watch, &witness.path) {
                        return Verdict::Differs(self.rounder(watch, witness.path));
                    }
                    open = Some("the positions found for it show no difference".to_owned());
                }
            }
        }
        open.map_or(Verdict::Same, Verdict::Open)
    }

    fn differs_at(&self, watch: &Watch, path: &Path) -> bool {
        let (old, new) = self.play(path);
        self.differs(watch, &old, &new)
    }

    /// The path with its axes at whole percents or tenths, where that shows the same.
    fn rounder(&self, watch: &Watch, path: Path) -> Path {
        let rounded = |parts: i64| {
            let near = |percent: Rational64| Rational64::new((percent.near() * parts as f64).round() as i64, parts);
            let setting = |setting: &mut Setting| {
                if let Setting::Percent(percent) = setting {
                    *percent = near(*percent).unwrap_or(*percent);
                }
            };
            let mut path = path.clone();
            path.start.controls.iter_mut().for_each(setting);
            path.movements.iter_mut().flat_map(|movement| &mut movement.sets).for_each(|(_, to)| setting(to));
            path
        };
        [1, 10].into_iter().map(rounded).find(|path| self.differs_at(watch, path)).unwrap_or(path)
    }

    /// Where a watch reads differently on both sides: in any of these. Nothing where that can't be asked.
    fn apart(&self, watch: &Watch) -> Option<Vec<Condition>> {
        let received = |number: u16, bounds: Bounds| Condition::Channel(number, Measure::Received, bounds);
        let side = &self.joined.old;
        let place = |number: u16| side.channel(number).unwrap_or(number);
        let turned =
            |was: Condition, is: Condition, now: bool| vec![if now { was.not().and(is) } else { was.and(is.not()) }];
        Some(match watch {
            Watch::Mode { old, new, now, .. } => {
                let mode = |mode| Condition::Mode(mode, Measure::Received);
                turned(mode(side.mode_id(*old)?), mode(*new), *now)
            }
            Watch::Named { old, new, now, .. } => {
                turned(Condition::Named(side.condition(*old)?), Condition::Named(*new), *now)
            }
            Watch::Still { channel, old, new, now } => {
                let number = u16::from(*channel);
                let was = received(place(number), side.bounds(still(*old))?);
                turned(was, received(number, still(*new)), *now)
            }
            Watch::Pulse(number) => match self.by(*number) {
                By::Sent(least) => sent_apart(*number, least),
                By::Levels(levels, of_new) => {
                    let of = if of_new { self.new } else { self.old };
                    let mut all = Vec::new();
                    for (low, high) in around_levels(of, levels) {
                        let near = Bounds::between(low, high);
                        let was = received(place(*number), side.bounds(near)?);
                        let is = received(*number, near);
                        all.push(if of_new { is.and(was.not()) } else { was.and(is.not()) });
                    }
                    all
                }
            },
        })
    }
}

/// Where the pulses sent on a channel are further apart than so many us.
fn sent_apart(number: u16, least: Rational64) -> Vec<Condition> {
    let value = |bounds: Bounds| Condition::Channel(apart(number), Measure::Percent, bounds);
    vec![value(Bounds::above(least)), value(Bounds::below(least.negate()))]
}

/// Just around each of so many levels of a program's scale, in us.
fn around_levels(program: &Program, levels: u32) -> Vec<(Rational64, Rational64)> {
    let scale = program.parts().scale;
    let steps = i64::from(levels.max(2) - 1);
    let level = |at: i64| {
        let share = exact(Rational64::new(2 * at - steps, steps).unwrap_or(whole(0)));
        let pulse = exact(scale.centre).plus(&exact(scale.span).times(&share));
        let half = exact(least());
        (pulse.minus(&half).rounded(), pulse.plus(&half).rounded())
    };
    (0..=steps).map(level).collect()
}

/// Where a control is put to be looked at.
pub(super) fn settings(control: &Control) -> Vec<Setting> {
    match &control.kind {
        ControlKind::Stick { .. } | ControlKind::Axis { .. } => {
            [-100, 100, -50, 50].into_iter().map(|percent| Setting::Percent(whole(percent))).collect()
        }
        ControlKind::Switch { positions, .. } => (0..positions.len() as u8).map(Setting::Position).collect(),
        ControlKind::Button { .. } | ControlKind::Reported => [0, 1].into_iter().map(Setting::Position).collect(),
    }
}

/// What arrives on a channel, or else is sent.
fn arrives(reading: &Reading, number: u16) -> Option<Seen> {
    let channel = reading.channel(number)?;
    Some(Seen::Us(channel.received.clone().unwrap_or_else(|| channel.sent.clone())))
}

/// A pulse in us.
pub(super) fn us(seen: &Seen) -> f64 {
    match seen {
        Seen::Us(pulse) => float(pulse),
        Seen::On(_) => 0.0,
    }
}
