//! What one model does to one aircraft, before and now: what is watched, and how it is told.

use super::blocks::Blocks;
use super::exchanged::have_changed_places;
use super::join::Timed;
use super::pair::{Pair, Seen, Verdict, Watch, us};
use super::programs::{Same, same_pulses};
use super::statements::Renames;
use super::{Change, Example, Open, What};
use crate::fleet::Fleet;
use crate::fleet::occurs::Named;
use crate::fleet::words::Way;
use crate::setup::{self, LinkPath, ModelSetup, Setup, Signals};
use crate::signal::{Carriage, ConditionId, ControlId, Mode, ModeId, Over, Path, Program, Reading, Setting, lower};
use rustc_hash::FxHashSet;

/// Whether a model that flies nothing sends the same pulses as before.
pub(super) fn sends_the_same(old: &ModelSetup<'_>, new: &ModelSetup<'_>) -> bool {
    let program = |setup: &ModelSetup<'_>| {
        // A simulator hears the handset itself.
        let over = if setup.model.simulator.is_some() { Over::Unchanged } else { Over::NotKnown };
        lower(setup.model, setup.handset, over, None).ok().map(|lowered| lowered.program)
    };
    let (Some(old), Some(new)) = (program(old), program(new)) else { return false };
    let numbers = |program: &Program| -> FxHashSet<u16> {
        program.parts().channels.iter().filter(|channel| !channel.is_mix()).map(|channel| channel.number).collect()
    };
    numbers(&old) == numbers(&new) && same_pulses(&old, &new).iter().all(|(_, same)| *same == Same::Yes)
}

/// What was found about one model and one aircraft.
#[derive(Default)]
pub(super) struct Found {
    pub(super) changes: Vec<Change>,
    pub(super) open: Vec<Open>,
    /// Conditions and modes that have another name now.
    pub(super) renamed: Renames,
}

/// Compares what a model does to an aircraft, over each link that reaches it. `mentioned` are the conditions that statements beside
/// the channels name.
pub(super) fn compare(old: &Setup<'_>, new: &Setup<'_>, blocks: &Blocks<'_>, mentioned: &FxHashSet<String>) -> Found {
    let mut found = Found::default();
    let name = |path: &LinkPath<'_>| path.link.map(|link| link.head.name.value.to_string());
    let paths: Vec<&LinkPath<'_>> = new.paths().collect();
    for (at, now) in paths.iter().enumerate() {
        let is_now = |before: &LinkPath<'_>| name(before).map(|it| blocks.now(Fleet::LINK, &it)) == name(now);
        let before = old.paths().find(|before| is_now(before)).or_else(|| old.paths().next().filter(|_| at == 0));
        let Some(before) = before else { continue };
        let one = over(old, new, (before, now), mentioned);
        // What another link shows as well is told once.
        let over = name(now).filter(|_| at > 0);
        for change in one.changes {
            if found.changes.iter().all(|known| known.what != change.what) {
                found.changes.push(Change { over: over.clone(), ..change });
            }
        }
        for open in one.open {
            if found.open.iter().all(|known| *known != open) {
                found.open.push(open);
            }
        }
        found.renamed.add_all(&one.renamed);
    }
    found
}

/// Compares what a model does to an aircraft over one link.
fn over(
    old: &Setup<'_>,
    new: &Setup<'_>,
    (before, now): (&LinkPath<'_>, &LinkPath<'_>),
    mentioned: &FxHashSet<String>,
) -> Found {
    let (Some(was), Some(is)) = (before.signals(), now.signals()) else {
        let why = [before.refused(), now.refused()].into_iter().flatten().next();
        let why = why.map_or_else(|| "the signal path can't be put together".to_owned(), |it| it.reason.to_string());
        return Found { open: vec![Open { what: "what it does".to_owned(), why }], ..Found::default() };
    };
    let held_for = (|number| was.lowered().held_for(number), |number| is.lowered().held_for(number));
    let pair = Pair::new(
        Timed { program: was.program(), held_for: &held_for.0 },
        Timed { program: is.program(), held_for: &held_for.1 },
    );
    let mut differ = Differ { old, new, was, is, pair, found: Found::default() };
    let (on_or_off, pulses) = differ.watches(mentioned);
    differ.tell(on_or_off, pulses);
    differ.exchanged();
    differ.added();
    differ.found
}

struct Differ<'s, 'o, 'n> {
    old: &'s Setup<'o>,
    new: &'s Setup<'n>,
    was: &'s Signals,
    is: &'s Signals,
    pair: Pair<'s>,
    found: Found,
}

impl Differ<'_, '_, '_> {
    /// What has to be compared, without what is the same by itself: what is on or off, and pulses. What needs no positions to be
    /// shown is told at once.
    fn watches(&mut self, mentioned: &FxHashSet<String>) -> (Vec<Watch>, Vec<Watch>) {
        let both = |watch: &dyn Fn(bool) -> Watch| [watch(true), watch(false)];
        let (o, n) = (self.pair.old.parts(), self.pair.new.parts());
        let joined = &self.pair.joined;
        let same = |channel: u16| joined.same_channels.contains(&channel);
        let (mut watches, mut pulses) = (Vec::new(), Vec::new());
        // Modes: by name, else by what they look at.
        for (at, mode) in (0..).map(ModeId).zip(&o.modes) {
            let by_name = n.modes.iter().position(|other| other.name == mode.name);
            let free = |other: &Mode| o.modes.iter().all(|known| known.name != other.name);
            let is = by_name.or_else(|| n.modes.iter().position(|other| other.any_of == mode.any_of && free(other)));
            let Some((is, other)) = is.and_then(|is| Some((is, n.modes.get(is)?))) else { continue };
            if by_name.is_none() {
                self.found.renamed.add(Named::Mode, &mode.name, &other.name);
            }
            // A mode that hangs on what nobody sends, or what does not arrive, is told with that channel.
            if !can_be_known(self.pair.old, mode) || !can_be_known(self.pair.new, other) {
                continue;
            }
            let alike = mode.any_of == other.any_of && mode.unknown.is_none() && other.unknown.is_none();
            let defined = |channel: u16| o.channels.iter().chain(&n.channels).any(|known| known.number == channel);
            let mut channels = mode.any_of.iter().flatten().map(|(channel, ..)| *channel);
            if !(alike && channels.all(|channel| same(channel) || !defined(channel))) {
                let name = other.name.to_string();
                let new = ModeId(is as u16);
                watches.extend(both(&|now| Watch::Mode { old: at, new, name: name.clone(), now }));
            }
        }
        // Motors: by their channel.
        for motor in self.old.motor_channels() {
            let other = self.new.motor_channels().iter().find(|other| other.channel == motor.channel);
            let Some((old, new)) = motor.idle.zip(other.and_then(|other| other.idle)) else { continue };
            if old != new || !same(u16::from(motor.channel)) {
                watches.extend(both(&|now| Watch::Still { channel: motor.channel, old, new, now }));
            }
        }
        for channel in o.channels.iter().filter(|channel| !channel.is_mix() && !same(channel.number)) {
            match n.channels.iter().find(|other| other.number == channel.number) {
                None => {
                    let what = self.defined(channel.number, false);
                    self.found.changes.push(Change::of(what, None));
                }
                Some(other) => match (channel.carriage, other.carriage) {
                    (Carriage::Not, Carriage::Not) => {}
                    (Carriage::Not, _) | (_, Carriage::Not) => {
                        let now = other.carriage != Carriage::Not;
                        let label = purpose(self.new, channel.number);
                        let what = What::Carried { channel: channel.number, label, now };
                        self.found.changes.push(Change::of(what, None));
                    }
                    _ => pulses.push(Watch::Pulse(channel.number)),
                },
            }
        }
        let is_new = |number: u16| o.channels.iter().all(|other| other.number != number);
        for channel in n.channels.iter().filter(|channel| !channel.is_mix() && is_new(channel.number)) {
            let what = self.defined(channel.number, true);
            self.found.changes.push(Change::of(what, None));
        }
        // Conditions: what is the same under another name is renamed.
        let is = |id: ConditionId| joined.same_conditions.iter().find(|(old, _)| *old == id).map(|(_, new)| *new);
        for (id, named) in (0..).map(ConditionId).zip(&o.conditions) {
            let by_name = n.conditions.iter().position(|other| other.name == named.name);
            match (is(id), by_name) {
                (Some(other), None) => {
                    let other = n.conditions.get(usize::from(other.0)).map_or("", |other| other.name.as_str());
                    self.found.renamed.add(Named::Condition, &named.name, other);
                }
                (Some(other), Some(at)) if usize::from(other.0) == at => {}
                (_, Some(at)) if mentioned.contains(named.name.as_str()) => {
                    let (new, name) = (ConditionId(at as u16), named.name.to_string());
                    watches.extend(both(&|now| Watch::Named { old: id, new, name: name.clone(), now }));
                }
                _ => {}
            }
        }
        (watches, pulses)
    }

    /// Tells what differs: what is on or off first, and at the same positions the pulses that go with it.
    fn tell(&mut self, mut on_or_off: Vec<Watch>, mut pulses: Vec<Watch>) {
        let mut shown_pulses = self.pair.look(&mut pulses);
        let (same, mut open_pulses) = self.ask(pulses, &mut shown_pulses);
        // What is on or off by the same limits of the same pulses is the same, as near as pulses are.
        on_or_off.retain(|watch| !self.is_by(watch, &same));
        let mut shown = self.pair.look(&mut on_or_off);
        let (_, open) = self.ask(on_or_off, &mut shown);
        let mut told: Vec<Watch> = Vec::new();
        for (watch, path) in shown {
            let (old, new) = self.pair.play(&path);
            self.change(&watch, &path, &old, &new);
            // Those that belong to it first.
            let pulses = shown_pulses.iter().map(|(pulse, _)| pulse).chain(open_pulses.iter().map(|(pulse, _)| pulse));
            let mut with: Vec<Watch> =
                pulses.filter(|it| self.is_of(&watch, it) || !told.contains(it)).cloned().collect();
            with.sort_by_key(|pulse| !self.is_of(&watch, pulse));
            with.retain(|pulse| self.pair.differs(pulse, &old, &new));
            with.iter().for_each(|pulse| self.change(pulse, &path, &old, &new));
            told.extend(with);
        }
        for (watch, path) in shown_pulses.into_iter().filter(|(pulse, _)| !told.contains(pulse)) {
            let (old, new) = self.pair.play(&path);
            self.change(&watch, &path, &old, &new);
        }
        open_pulses.retain(|(pulse, _)| !told.contains(pulse));
        for (watch, why) in open.into_iter().chain(open_pulses) {
            let open = Open { what: named(&watch), why };
            if !self.found.open.contains(&open) {
                self.found.open.push(open);
            }
        }
    }

    /// Whether something is on or off by the same limits on both sides, and by these channels or by what nobody knows.
    fn is_by(&self, watch: &Watch, same: &[Watch]) -> bool {
        let is_same =
            |number: u16| self.pair.joined.same_channels.contains(&number) || same.contains(&Watch::Pulse(number));
        match watch {
            Watch::Mode { old, new, .. } => {
                let of = |program: &Program, mode: ModeId| program.parts().modes.get(usize::from(mode.0)).cloned();
                let (old, new) = (of(self.pair.old, *old), of(self.pair.new, *new));
                let mode = old.zip(new).filter(|(old, new)| old.any_of == new.any_of && old.unknown == new.unknown);
                mode.is_some_and(|(mode, _)| {
                    mode.unknown.is_none() && mode.any_of.iter().flatten().all(|(channel, ..)| is_same(*channel))
                })
            }
            Watch::Still { channel, old, new, .. } => old == new && is_same(u16::from(*channel)),
            Watch::Named { .. } | Watch::Pulse(_) => false,
        }
    }

    /// Asks about what was not seen to differ. Gives what is the same, and what was not decided.
    fn ask(&self, watches: Vec<Watch>, shown: &mut Vec<(Watch, Path)>) -> (Vec<Watch>, Vec<(Watch, String)>) {
        let (mut same, mut open) = (Vec::new(), Vec::new());
        for watch in watches {
            match self.pair.verdict(&watch) {
                Verdict::Same => same.push(watch),
                Verdict::Differs(path) => shown.push((watch, path)),
                Verdict::Open(why) => open.push((watch, why)),
            }
        }
        (same, open)
    }

    /// Whether a pulse belongs to what is on or off.
    fn is_of(&self, watch: &Watch, pulse: &Watch) -> bool {
        let Watch::Pulse(number) = pulse else { return false };
        match watch {
            Watch::Mode { new, .. } => {
                let mode = self.pair.new.parts().modes.get(usize::from(new.0));
                mode.is_some_and(|mode| mode.any_of.iter().flatten().any(|test| test.0 == *number))
            }
            Watch::Still { channel, .. } => u16::from(*channel) == *number,
            Watch::Named { .. } | Watch::Pulse(_) => false,
        }
    }

    fn change(&mut self, watch: &Watch, path: &Path, old: &Reading, new: &Reading) {
        let Some((was, is)) = Pair::seen(watch, old, new) else { return };
        let what = match watch {
            Watch::Mode { name, now, .. } => What::Mode { name: name.clone(), now: *now },
            Watch::Named { name, now, .. } => What::Condition { name: name.clone(), now: *now },
            Watch::Still { channel, now, .. } => What::Still { channel: *channel, now: *now },
            Watch::Pulse(number) => What::Pulse {
                channel: *number,
                label: self.label(*number),
                old: us(&was),
                new: us(&is),
                modes: (modes_on(old, self.was, *number), modes_on(new, self.is, *number)),
                way: self.way(*number, us(&was), us(&is)),
            },
        };
        let (before, now) = self.pair.paths(path);
        let example = Example { old: self.was.witness(&before), new: self.is.witness(&now) };
        self.found.changes.push(Change::of(what, Some(Box::new(example))));
    }

    /// That a channel is sent now and was not, or the other way round: what it is for, and what moves it.
    fn defined(&self, channel: u16, now: bool) -> What {
        let (label, signals) = match now {
            true => (purpose(self.new, channel), self.is),
            false => (purpose(self.old, channel), self.was),
        };
        let movers = movers(signals, channel);
        let carriage = signals.program().channel(channel).map(|channel| channel.carriage);
        What::Defined { channel, label, movers, arrives: carriage != Some(Carriage::Not), now }
    }

    /// Tells of two channels that have changed places in one line, and no longer of each by itself.
    fn exchanged(&mut self) {
        let pulse = |change: &Change| match change.what {
            What::Pulse { channel, .. } => Some(channel),
            _ => None,
        };
        let mut left: Vec<u16> = self.found.changes.iter().filter_map(pulse).collect();
        left.sort_unstable();
        left.dedup();
        let held_for = (|number| self.was.lowered().held_for(number), |number| self.is.lowered().held_for(number));
        let old = Timed { program: self.was.program(), held_for: &held_for.0 };
        let new = Timed { program: self.is.program(), held_for: &held_for.1 };
        let mut told: Vec<[u16; 2]> = Vec::new();
        while let Some((one, others)) = left.split_first() {
            let with = others.iter().find(|other| have_changed_places(old, new, [*one, **other])).copied();
            told.extend(with.map(|other| [*one, other]));
            left = others.iter().copied().filter(|other| Some(*other) != with).collect();
        }
        for channels in told {
            self.found.changes.retain(|change| pulse(change).is_none_or(|channel| !channels.contains(&channel)));
            let labels = channels.map(|channel| self.label(channel));
            let movers = channels.map(|channel| movers(self.is, channel));
            self.found.changes.push(Change::of(What::Exchanged { channels, labels, movers }, None));
        }
    }

    /// What a channel is called: what it moves, else as the model calls it.
    fn label(&self, number: u16) -> String {
        let used = self.used(number);
        let model = self.pair.new.channel(number).map(|channel| channel.name.to_string()).unwrap_or_default();
        let surfaces = self.new.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels);
        let mut sides = surfaces.filter(|it| u16::from(it.channel.value) == number).filter_map(|it| it.side);
        match used {
            Some(what @ setup::What::Surface(_)) => match sides.next() {
                Some(side) => format!("{what} {}", side.value.word()),
                None => what.to_string(),
            },
            Some(what @ setup::What::Function(_)) => what.to_string(),
            _ => model,
        }
    }

    fn used(&self, number: u16) -> Option<setup::What<'_>> {
        self.new.used().find(|(channel, ..)| u16::from(*channel) == number).map(|(_, what, _)| what)
    }

    /// How what a channel moves goes otherwise, where that can be said: seen from where it rests.
    fn way(&self, number: u16, old: f64, new: f64) -> String {
        if !matches!(self.used(number), Some(setup::What::Surface(_) | setup::What::Function(_) | setup::What::Motor)) {
            return String::new();
        }
        let rest = Path::at(self.pair.rest());
        let (was, is) = self.pair.play(&rest);
        let Some((Seen::Us(was), Seen::Us(is))) = Pair::seen(&Watch::Pulse(number), &was, &is) else {
            return String::new();
        };
        let (was, is) = (setup::float(&was), setup::float(&is));
        let (before, now) = (old - was, new - is);
        // Less than this from where it rests is no way.
        const CLEAR_US: f64 = 5.0;
        let (moved, moves) = (before.abs() > CLEAR_US, now.abs() > CLEAR_US);
        if moved && moves && before.signum() != now.signum() {
            return "the other way".to_owned();
        }
        let surfaces = self.new.craft.surfaces.iter().flat_map(|surfaces| &surfaces.channels);
        let mut ways = surfaces.filter(|it| u16::from(it.channel.value) == number).filter_map(|it| it.high_is);
        match ways.next().map(|way| way.value) {
            Some(Way::Up) => further(new > old, "up", "down"),
            Some(Way::Down) => further(new > old, "down", "up"),
            Some(Way::Left) => further(new > old, "to the left", "to the right"),
            Some(Way::Right) => further(new > old, "to the right", "to the left"),
            Some(Way::Open) => if new > old { "further open" } else { "less open" }.to_owned(),
            Some(Way::On) | None if moved && moves => {
                if now.abs() > before.abs() { "further" } else { "less far" }.to_owned()
            }
            Some(Way::On) | None => String::new(),
        }
    }

    /// Positions that a switch did not have: what they do.
    fn added(&mut self) {
        for (control, position) in self.pair.joined.added.clone() {
            let rest = self.is.program().rest();
            let path = Path::at(rest.clone()).then(control, Setting::Position(position));
            let (before, now) = (self.is.program().play(&Path::at(rest)), self.is.program().play(&path));
            let reads = now.channels.iter().filter(|channel| before.channel(channel.number) != Some(*channel));
            let reads = reads.map(|channel| {
                let pulse = channel.received.as_ref().unwrap_or(&channel.sent);
                (channel.number, setup::float(pulse), modes_on(&now, self.is, channel.number))
            });
            let what = What::Position {
                control: self.is.name(ControlId(control.0)).to_owned(),
                position: self.is.position_name(control, position).to_string(),
                reads: reads.collect(),
            };
            self.found.changes.push(Change::of(what, None));
        }
    }
}

/// The controls that may move a channel.
fn movers(signals: &Signals, channel: u16) -> Vec<String> {
    signals.program().mentions(channel).controls.iter().map(|id| signals.name(*id).to_owned()).collect()
}

/// What an aircraft reads a channel for.
fn purpose(setup: &Setup<'_>, channel: u16) -> String {
    let used = setup.used().find(|(known, ..)| u16::from(*known) == channel);
    used.map_or_else(String::new, |(_, what, _)| what.to_string())
}

/// Whether one of a mode's lists of pulses is of channels that arrive, or may.
fn can_be_known(program: &Program, mode: &Mode) -> bool {
    let arrives = |number: u16| match program.channel(number) {
        Some(channel) => channel.carriage != Carriage::Not,
        None => program.parts().elsewhere.is_some(),
    };
    mode.unknown.is_some() || mode.any_of.iter().any(|tests| tests.iter().all(|test| arrives(test.0)))
}

fn further(is_high: bool, high: &str, low: &str) -> String {
    format!("further {}", if is_high { high } else { low })
}

/// The modes that look at a channel and are on.
fn modes_on(reading: &Reading, signals: &Signals, number: u16) -> Vec<String> {
    let modes = signals.program().parts().modes.iter().zip(&reading.modes);
    let on = modes.filter(|(mode, on)| **on == Some(true) && mode.any_of.iter().flatten().any(|it| it.0 == number));
    on.map(|(mode, _)| mode.name.to_string()).collect()
}

/// What a watch is called where it was not decided.
fn named(watch: &Watch) -> String {
    match watch {
        Watch::Mode { name, .. } if name == "arm" => "whether it asks to arm".to_owned(),
        Watch::Mode { name, .. } => format!("when mode {name} is on"),
        Watch::Named { name, .. } => format!("when {name} holds"),
        Watch::Still { channel, .. } => format!("when the motor on channel {channel} stands still"),
        Watch::Pulse(number) => format!("what channel {number} does"),
    }
}
