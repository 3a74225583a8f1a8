//! What one model does to one aircraft, before and now: looked at in some positions first, then asked of both programs together.

use super::join::{Joined, apart, join};
use super::{Change, Example, Open, What};
use crate::fleet::craft::Idle;
use crate::setup::{Setup, Signals, float, number};
use crate::signal::{
    Answer, Bound, Bounds, Carriage, Condition, ConditionId, ControlId, ControlKind, Exact, Handle, Measure, ModeId,
    Path, Question, Rational64, Reading, Setting, Stand, exact, whole,
};
use rustc_hash::FxHashSet;

/// What was found about one model and one aircraft.
#[derive(Default)]
pub(super) struct Found {
    pub(super) changes: Vec<Change>,
    pub(super) open: Vec<Open>,
    /// Conditions and modes that have another name now: the old one and the new one.
    pub(super) renamed: Vec<(String, String)>,
}

/// Pulses closer than this, in us, are shown alike.
const APART_US: f64 = 0.1;

/// The same as a fraction.
fn least() -> Rational64 {
    Rational64::new(1, 10).unwrap_or(whole(0))
}

/// Carried with more levels than this, a channel is compared by what is sent.
const FEW_LEVELS: u32 = 16;

/// So many positions are looked at before anything is asked.
const LOOKS: usize = 1500;

/// Something that is read on both sides.
#[derive(Clone)]
enum Watch {
    /// A mode, by its name now.
    Mode { old: ModeId, new: ModeId, name: String },
    /// Whether a motor stands still.
    Still { channel: u8, old: Idle, new: Idle },
    /// The pulse that arrives on a channel, or else is sent.
    Pulse(u16),
    /// A named condition that something other than a channel hangs on.
    Named { old: ConditionId, new: ConditionId, name: String },
}

/// What is read of a watch on one side.
#[derive(Clone, PartialEq)]
enum Seen {
    On(bool),
    Us(Exact),
}

impl Seen {
    fn differs(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::On(one), Self::On(other)) => one != other,
            (Self::Us(one), Self::Us(other)) => (float(&one.minus(other))).abs() > APART_US,
            _ => true,
        }
    }
}

/// Both sides of one model and one aircraft.
struct Pair<'s> {
    old: &'s Signals,
    new: &'s Signals,
    joined: &'s Joined,
}

/// Compares what a model does to an aircraft. `mentioned` are words that statements beside the channels hold.
pub(super) fn compare(old: &Setup<'_>, new: &Setup<'_>, mentioned: &FxHashSet<String>) -> Found {
    let mut found = Found::default();
    let (Some(before), Some(now)) = (old.signals(), new.signals()) else {
        let why = [old.refused(), new.refused()].into_iter().flatten().next();
        let why = why.map_or_else(|| "the signal path can't be put together".to_owned(), |it| it.reason.to_string());
        found.open.push(Open { what: "what it does".to_owned(), why });
        return found;
    };
    let joined = join(before.lowered(), now.lowered());
    let pair = Pair { old: before, new: now, joined: &joined };
    let mut watches = pair.watches(old, new, mentioned, &mut found);
    pair.look(&mut watches, &mut found.changes);
    pair.ask(watches, &mut found);
    for (control, position) in &joined.added {
        let name = joined.controls.get(usize::from(control.0)).map_or("", |control| control.name.as_str());
        let at = now.position_name(*control, *position);
        let what = format!("{name} {at}");
        found.open.push(Open {
            what,
            why: "the switch did not have this position, so nothing was there to compare it with".to_owned(),
        });
    }
    found
}

impl Pair<'_> {
    /// What has to be compared, without what is the same by itself. What needs no positions to be shown is told at once.
    fn watches(
        &self,
        old: &Setup<'_>,
        new: &Setup<'_>,
        mentioned: &FxHashSet<String>,
        found: &mut Found,
    ) -> Vec<Watch> {
        let (o, n) = (self.old.program().parts(), self.new.program().parts());
        let same = |channel: u16| self.joined.same_channels.contains(&channel);
        let mut watches = Vec::new();
        // Modes: by name, else by what they look at.
        for (at, mode) in (0..).map(ModeId).zip(&o.modes) {
            let by_name = n.modes.iter().position(|other| other.name == mode.name);
            let free = |other: &crate::signal::Mode| o.modes.iter().all(|known| known.name != other.name);
            let is = by_name.or_else(|| n.modes.iter().position(|other| other.any_of == mode.any_of && free(other)));
            let Some(is) = is else { continue };
            let Some(other) = n.modes.get(is) else { continue };
            let channels = || mode.any_of.iter().flatten().map(|(channel, ..)| *channel);
            if by_name.is_none() {
                found.renamed.push((mode.name.to_string(), other.name.to_string()));
            }
            let alike = mode.any_of == other.any_of && mode.unknown.is_none() && other.unknown.is_none();
            let defined = |channel: u16| o.channels.iter().chain(&n.channels).any(|known| known.number == channel);
            if !(alike && channels().all(|channel| same(channel) || !defined(channel))) {
                watches.push(Watch::Mode { old: at, new: ModeId(is as u16), name: other.name.to_string() });
            }
        }
        // Motors: by their channel.
        for motor in old.motor_channels() {
            let other = new.motor_channels().into_iter().find(|other| other.channel == motor.channel);
            let Some((before, now)) = motor.idle.zip(other.and_then(|other| other.idle)) else { continue };
            if before != now || !same(u16::from(motor.channel)) {
                watches.push(Watch::Still { channel: motor.channel, old: before, new: now });
            }
        }
        for channel in o.channels.iter().filter(|channel| !channel.is_mix() && !same(channel.number)) {
            match n.channels.iter().find(|other| other.number == channel.number) {
                None => found.changes.push(Change::of(What::Defined { channel: channel.number, now: false }, None)),
                Some(other) => match (channel.carriage, other.carriage) {
                    (Carriage::Not, Carriage::Not) => {}
                    (Carriage::Not, _) | (_, Carriage::Not) => {
                        let now = other.carriage != Carriage::Not;
                        found.changes.push(Change::of(What::Carried { channel: channel.number, now }, None));
                    }
                    _ => watches.push(Watch::Pulse(channel.number)),
                },
            }
        }
        let is_new = |number: u16| o.channels.iter().all(|other| other.number != number);
        for channel in n.channels.iter().filter(|channel| !channel.is_mix() && is_new(channel.number)) {
            found.changes.push(Change::of(What::Defined { channel: channel.number, now: true }, None));
        }
        // Conditions: what is the same under another name is renamed.
        let is = |id: ConditionId| self.joined.same_conditions.iter().find(|(old, _)| *old == id).map(|(_, new)| *new);
        for (id, named) in (0..).map(ConditionId).zip(&o.conditions) {
            let by_name = n.conditions.iter().position(|other| other.name == named.name);
            match (is(id), by_name) {
                (Some(other), None) => {
                    let other = n.conditions.get(usize::from(other.0)).map_or("", |other| other.name.as_str());
                    found.renamed.push((named.name.to_string(), other.to_owned()));
                }
                (Some(other), Some(at)) if usize::from(other.0) == at => {}
                (_, Some(at)) if mentioned.contains(named.name.as_str()) => {
                    let new = ConditionId(at as u16);
                    watches.push(Watch::Named { old: id, new, name: named.name.to_string() });
                }
                _ => {}
            }
        }
        watches
    }

    fn seen(watch: &Watch, reading: &Reading, is_old: bool) -> Option<Seen> {
        let pulse = |number: u16| {
            let channel = reading.channel(number)?;
            channel.received.clone()
        };
        match watch {
            Watch::Mode { old, new, .. } => {
                let id = if is_old { old } else { new };
                reading.modes.get(usize::from(id.0)).copied().flatten().map(Seen::On)
            }
            Watch::Named { old, new, .. } => {
                let id = if is_old { old } else { new };
                reading.conditions.get(usize::from(id.0)).copied().flatten().map(Seen::On)
            }
            Watch::Still { channel, old, new } => {
                let idle = if is_old { old } else { new };
                pulse(u16::from(*channel)).map(|pulse| Seen::On(stands_still(*idle, &pulse)))
            }
            Watch::Pulse(number) => {
                pulse(*number).or_else(|| reading.channel(*number).map(|it| it.sent.clone())).map(Seen::Us)
            }
        }
    }

    /// A change that a path of both together shows, played on each side by itself.
    fn shown(&self, watch: &Watch, path: &Path) -> Option<Change> {
        let before = self.joined.old.path(path, self.old.program().parts());
        let now = self.joined.new.path(path, self.new.program().parts());
        let (old, new) = (self.old.program().play(&before), self.new.program().play(&now));
        let (was, is) = (Self::seen(watch, &old, true)?, Self::seen(watch, &new, false)?);
        if !was.differs(&is) {
            return None;
        }
        let example = Example { old: self.old.witness(&before), new: self.new.witness(&now) };
        Some(Change::of(self.what(watch, &was, &is, &old, &new), Some(Box::new(example))))
    }

    fn what(&self, watch: &Watch, was: &Seen, is: &Seen, old: &Reading, new: &Reading) -> What {
        let now = *is == Seen::On(true);
        match watch {
            Watch::Mode { name, .. } => What::Mode { name: name.clone(), now },
            Watch::Named { name, .. } => What::Condition { name: name.clone(), now },
            Watch::Still { channel, .. } => What::Still { channel: *channel, now },
            Watch::Pulse(number) => {
                let us = |seen: &Seen| match seen {
                    Seen::Us(pulse) => float(pulse),
                    Seen::On(_) => 0.0,
                };
                let on = |reading: &Reading, signals: &Signals| -> Vec<String> {
                    let modes = signals.program().parts().modes.iter().zip(&reading.modes);
                    let of = modes.filter(|(mode, on)| {
                        **on == Some(true) && mode.any_of.iter().flatten().any(|it| it.0 == *number)
                    });
                    of.map(|(mode, _)| mode.name.to_string()).collect()
                };
                let label = self.new.program().parts().channels.iter().find(|channel| channel.number == *number);
                What::Pulse {
                    channel: *number,
                    label: label.map_or_else(String::new, |channel| channel.name.to_string()),
                    old: us(was),
                    new: us(is),
                    modes: (on(old, self.old), on(new, self.new)),
                }
            }
        }
    }

    /// Looks at positions near rest: what they show is shown with the fewest movements.
    fn look(&self, watches: &mut Vec<Watch>, changes: &mut Vec<Change>) {
        for path in self.paths().take(LOOKS) {
            if watches.is_empty() {
                return;
            }
            watches.retain(|watch| match self.shown(watch, &path) {
                Some(change) => {
                    changes.push(change);
                    false
                }
                None => true,
            });
        }
    }

    /// Rest, then each control elsewhere from the start, then moved there, then two of them.
    fn paths(&self) -> impl Iterator<Item = Path> {
        let rest = self.rest();
        let settings = |control: &crate::signal::Control| -> Vec<Setting> {
            match &control.kind {
                ControlKind::Stick { .. } | ControlKind::Axis { .. } => {
                    [-100, 100, -50, 50].into_iter().map(|percent| Setting::Percent(whole(percent))).collect()
                }
                ControlKind::Switch { positions, .. } => (0..positions.len() as u8).map(Setting::Position).collect(),
                ControlKind::Button { .. } | ControlKind::Reported => {
                    [0, 1].into_iter().map(Setting::Position).collect()
                }
            }
        };
        let is_added = |control: ControlId, to: Setting| matches!(to, Setting::Position(at) if self.joined.added.contains(&(control, at)));
        let mut all: Vec<(ControlId, Setting)> = Vec::new();
        for (id, control) in (0..).map(ControlId).zip(&self.joined.controls) {
            let away = settings(control).into_iter().filter(|to| rest.get(Handle::Control(id)) != Some(*to));
            all.extend(away.filter(|to| !is_added(id, *to)).map(|to| (id, to)));
        }
        let at = {
            let rest = rest.clone();
            move |sets: &[(ControlId, Setting)]| {
                let mut stand = rest.clone();
                sets.iter().for_each(|(control, to)| stand.set(Handle::Control(*control), *to));
                Path::at(stand)
            }
        };
        let moved = move |rest: &Stand, sets: &[(ControlId, Setting)]| {
            let path = Path::at(rest.clone());
            sets.iter().fold(path, |path, (control, to)| path.then(*control, *to))
        };
        let first = Path::at(rest.clone());
        let singles: Vec<Path> = all.iter().flat_map(|one| [at(&[*one]), moved(&rest, &[*one])]).collect();
        let pairs = all.clone().into_iter().enumerate().flat_map(move |(index, one)| {
            let later: Vec<_> = all
                .iter()
                .enumerate()
                .filter(|(other, it)| *other != index && it.0 != one.0)
                .map(|(_, it)| *it)
                .collect();
            later.into_iter().map(move |other| (one, other))
        });
        let pairs = pairs.flat_map(move |(one, other)| {
            let still = at(&[one, other]);
            let movement = moved(&rest, &[one, other]);
            [still, movement]
        });
        std::iter::once(first).chain(singles).chain(pairs)
    }

    /// Where everything rests: as on the new side, and as on the old one where that has more.
    fn rest(&self) -> Stand {
        let (old, mut rest) = (self.old.program().rest(), self.new.program().rest());
        for (at, (is, _)) in self.joined.old.controls.iter().enumerate() {
            if usize::from(is.0) == rest.controls.len() {
                rest.controls.push(old.controls.get(at).copied().unwrap_or(Setting::Position(0)));
                rest.trims.push(whole(0));
            }
        }
        rest
    }

    /// Asks both programs together about what was not seen to differ.
    fn ask(&self, watches: Vec<Watch>, found: &mut Found) {
        'watches: for watch in watches {
            let why = match &self.joined.program {
                Err(why) => Some(why.clone()),
                Ok(program) => {
                    let states = self.apart(&watch);
                    let mut why = states.is_empty().then(|| "it has no place in both together".to_owned());
                    for state in states {
                        let state = self.joined.given.clone().and(state);
                        let question = Question { fixed: self.joined.fixed.clone(), ..Question::is(state) };
                        match program.ask(&question) {
                            Answer::No(_) => {}
                            Answer::NotDecided(reason) => why = Some(reason.to_string()),
                            Answer::Yes(witness) => match self.shown(&watch, &witness.path) {
                                Some(change) => {
                                    found.changes.push(change);
                                    continue 'watches;
                                }
                                None => why = Some("the positions found for it show no difference".to_owned()),
                            },
                        }
                    }
                    why.or_else(|| self.carried_otherwise(&watch).map(str::to_owned))
                }
            };
            if let Some(why) = why {
                found.open.push(Open { what: self.named(&watch), why });
            }
        }
    }

    /// Where a watch reads differently on both sides: any of these.
    fn apart(&self, watch: &Watch) -> Vec<Condition> {
        let either =
            |one: Condition, other: Condition| vec![other.clone().and(one.clone().not()), one.and(other.not())];
        let received = |number: u16, bounds: Bounds| Condition::Channel(number, Measure::Received, bounds);
        let place = |number: u16| self.joined.old.channel(number).unwrap_or(number);
        match watch {
            Watch::Mode { old, new, .. } => match self.joined.old.mode_id(*old) {
                Some(old) => either(Condition::Mode(old, Measure::Received), Condition::Mode(*new, Measure::Received)),
                None => Vec::new(),
            },
            Watch::Named { old, new, .. } => match self.joined.old.condition(*old) {
                Some(old) => either(Condition::Named(old), Condition::Named(*new)),
                None => Vec::new(),
            },
            Watch::Still { channel, old, new } => {
                let number = u16::from(*channel);
                either(received(place(number), still(*old)), received(number, still(*new)))
            }
            Watch::Pulse(number) => {
                let levels = |signals: &Signals| {
                    let channel = signals.program().channel(*number).map(|channel| channel.carriage);
                    match channel {
                        Some(Carriage::Levels(levels)) => Some(levels),
                        _ => None,
                    }
                };
                let (old, new) = (levels(self.old), levels(self.new));
                let few = new.filter(|levels| *levels <= FEW_LEVELS).or(old.filter(|levels| *levels <= FEW_LEVELS));
                match few {
                    Some(levels) => {
                        let (of, other) =
                            if new == Some(levels) { (*number, place(*number)) } else { (place(*number), *number) };
                        self.levels(levels)
                            .into_iter()
                            .flat_map(|level| {
                                let near = Bounds::between(level.0, level.1);
                                [received(of, near).and(received(other, near).not())]
                            })
                            .collect()
                    }
                    None => {
                        let value = |bounds: Bounds| Condition::Channel(apart(*number), Measure::Percent, bounds);
                        // Between two levels the least difference is one of a whole level.
                        let least = if old.or(new).is_some() { whole(0) } else { least() };
                        vec![value(Bounds::above(least)), value(Bounds::below(least.negate()))]
                    }
                }
            }
        }
    }

    /// What leaves open whether the same pulse arrives, where the same is sent.
    fn carried_otherwise(&self, watch: &Watch) -> Option<&'static str> {
        let Watch::Pulse(number) = watch else { return None };
        let carriage = |signals: &Signals| signals.program().channel(*number).map(|channel| channel.carriage);
        let few = |carriage| matches!(carriage, Some(Carriage::Levels(levels)) if levels <= FEW_LEVELS);
        let (old, new) = (carriage(self.old), carriage(self.new));
        (old != new && !few(old) && !few(new)).then_some("the same is sent, and the link carries it in another way")
    }

    /// Just around each of so many levels, in us.
    fn levels(&self, levels: u32) -> Vec<(Rational64, Rational64)> {
        let scale = self.new.program().parts().scale;
        let steps = i64::from(levels.max(2) - 1);
        let level = |at: i64| {
            let share = exact(Rational64::new(2 * at - steps, steps).unwrap_or(whole(0)));
            let pulse = exact(scale.centre).plus(&exact(scale.span).times(&share));
            let half = exact(least());
            (pulse.minus(&half).rounded(), pulse.plus(&half).rounded())
        };
        (0..=steps).map(level).collect()
    }

    /// What a watch is called where it was not decided.
    fn named(&self, watch: &Watch) -> String {
        match watch {
            Watch::Mode { name, .. } if name == "arm" => "whether it asks to arm".to_owned(),
            Watch::Mode { name, .. } => format!("when mode {name} is on"),
            Watch::Named { name, .. } => format!("when {name} holds"),
            Watch::Still { channel, .. } => format!("when the motor on channel {channel} stands still"),
            Watch::Pulse(number) => format!("what channel {number} does"),
        }
    }
}

/// The pulses at which a motor stands still.
fn still(idle: Idle) -> Bounds {
    let end = |at, strict| Some(Bound { at: number(at), strict });
    match idle {
        Idle::Below(at) => Bounds { low: None, high: end(at, true) },
        Idle::Above(at) => Bounds { low: end(at, true), high: None },
        Idle::Within(low, high) => Bounds { low: end(low, false), high: end(high, false) },
    }
}

fn stands_still(idle: Idle, pulse: &Exact) -> bool {
    let Bounds { low, high } = still(idle);
    let above = low.is_none_or(|end| *pulse > exact(end.at) || !end.strict && *pulse == exact(end.at));
    above && high.is_none_or(|end| *pulse < exact(end.at) || !end.strict && *pulse == exact(end.at))
}
