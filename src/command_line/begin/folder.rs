//! What a new aircraft is written against: the handset, the link and the place; those of a folder that holds a fleet already, or
//! of the answers for a new one.

use crate::command_line::settings;
use crate::command_line::sources::{Sources, Wanted};
use crate::fleet::Fleet;
use crate::fleet::craft::Craft;
use crate::fleet::equipment::{ControlKind, Handset, HandsetModule};
use crate::fleet::model::{Model, ModelModule};
use crate::fleet::words::{CraftKind, Grip, NumberCheck};
use crate::inspect::Workspace;
use crate::setup::{is_matched, locked};
use crate::source::Place;
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

/// A fleet to which an aircraft is added.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Folder {
    pub(super) handsets: Vec<Desk>,
    pub(super) places: Vec<String>,
    /// The place that the settings give to aircraft that name none.
    pub(super) default_place: Option<String>,
    /// The aircraft that a new one can be like.
    pub(super) bases: Vec<Base>,
    /// How many aircraft there are.
    pub(super) aircraft: usize,
    /// The names of all aircraft and models.
    pub(super) names: BTreeSet<String>,
}

/// A handset with at least one module whose link is described.
#[derive(Clone, PartialEq, Debug)]
pub(super) struct Desk {
    pub(super) name: String,
    pub(super) grip: Grip,
    /// Whether the throttle is known to spring to its centre.
    pub(super) springs: bool,
    /// The pulse at 0 %, and how far 100 % moves it, in microseconds.
    pub(super) scale: (f64, f64),
    /// Its switches that stay where they are put.
    pub(super) switches: Vec<Switch>,
    /// The names of all its controls.
    pub(super) controls: Vec<String>,
    pub(super) bays: Vec<Bay>,
    /// The names of all its bays that are not empty.
    pub(super) filled: Vec<String>,
}

/// A switch that stays where it is put.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Switch {
    pub(super) name: String,
    pub(super) positions: u8,
    /// How many start checks of the handset's models ask for its first position, and for its last.
    pub(super) asked: [usize; 2],
}

/// A bay whose module speaks a link that is described.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Bay {
    pub(super) name: String,
    pub(super) link: Carrier,
    /// The update rate that a new model takes over, with its unit.
    pub(super) update_rate: Option<String>,
}

/// A link, as far as it says what a new aircraft can use.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Carrier {
    pub(super) name: String,
    /// The channels that it carries, each with the levels that it tells apart; none: unchanged.
    pub(super) carried: Vec<(u8, Option<u32>)>,
    pub(super) numbers: Numbers,
}

/// The receiver numbers of one or more links.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Numbers {
    /// The names of the links.
    links: Vec<String>,
    /// The lowest and the highest; none where the links do not look at numbers.
    range: Option<(u16, u16)>,
    /// Those in use, with the name of an aircraft or a model that uses it.
    used: BTreeMap<u16, String>,
}

/// An aircraft that another can be like.
#[derive(Clone, PartialEq, Eq, Debug)]
pub(super) struct Base {
    pub(super) name: String,
    pub(super) kind: CraftKind,
    /// The model that flies it.
    pub(super) model: String,
    /// The bays that are on in the model, and whether match is on there.
    pub(super) bays: Vec<(String, bool)>,
    /// Its receivers, by their names.
    pub(super) receivers: Vec<Option<String>>,
    pub(super) numbers: Numbers,
    /// Where it is flown, where it says so.
    pub(super) flown_at: Option<String>,
}

impl Folder {
    /// The fleet of a folder; none where there is none yet.
    ///
    /// # Errors
    /// Why nothing can be added to it, in words.
    pub(super) fn of(path: &Path) -> Result<Option<Self>, String> {
        if !path.is_dir() {
            return Ok(None);
        }
        let (sources, read) = Sources::choose(&Wanted {
            paths: &[path.to_owned()],
            name: "",
            around: false,
            settings: &super::super::settings::Choice::default(),
        })?;
        let mut workspace = Workspace::new();
        let options = settings::options(&read);
        let default_place = options.default_place.clone();
        workspace.settings(options);
        sources.load(&mut workspace);
        // What is not understood may hold a number or a name that is in use.
        let fault = workspace.problems().into_iter().next().map(|problem| (problem.place, problem.message));
        let told = sources.faults().next().map(|(name, fault)| (name.to_owned(), fault.message.clone()));
        let named = |place: Place| workspace.names().get(place.file.0 as usize).cloned().unwrap_or_default();
        if let Some((file, message)) = fault.map(|(place, message)| (named(place), message)).or(told) {
            return Err(format!(
                "nothing is added, since {file} is not understood in full ({message}): `walkaround inspect` says more"
            ));
        }
        if let Some(message) = workspace.told_outside().first() {
            return Err(format!("nothing is added: {message}"));
        }
        let fleet = workspace.fleet();
        if sources.files.is_empty() {
            return Ok(None);
        }
        let handsets: Vec<Desk> = fleet.handsets.iter().filter_map(|handset| desk(fleet, handset)).collect();
        if handsets.is_empty() {
            return Err(format!(
                "nothing is added, since no handset in {} has a module whose link is described there; `walkaround begin` in a \
                 folder without .rig files begins a new fleet",
                path.display()
            ));
        }
        let names = fleet.crafts.iter().map(|craft| &craft.head.name);
        let names = names.chain(fleet.models.iter().map(|model| &model.head.name));
        Ok(Some(Self {
            handsets,
            places: fleet.sites.iter().map(|site| site.head.name.value.to_string()).collect(),
            default_place,
            bases: fleet.crafts.iter().filter_map(|craft| base(fleet, craft)).collect(),
            aircraft: fleet.crafts.len(),
            names: names.map(|name| name.value.to_string()).collect(),
        }))
    }
}

impl Folder {
    /// The name of an aircraft or a model that is hard to tell from this one in a list: equal but for capitals and spaces.
    pub(super) fn alike(&self, name: &str) -> Option<&str> {
        let plain = |name: &str| -> Vec<char> {
            name.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
        };
        self.names.iter().find(|known| plain(known) == plain(name)).map(String::as_str)
    }
}

impl Desk {
    /// A pulse by its percent, in whole microseconds.
    pub(super) fn pulse(&self, percent: i32) -> i64 {
        let (centre, span) = self.scale;
        (centre + span * f64::from(percent) / 100.0).round() as i64
    }

    /// Its switches with two positions: each can start and stop a motor.
    pub(super) fn stoppers(&self) -> impl Iterator<Item = &Switch> {
        self.switches.iter().filter(|switch| switch.positions == 2)
    }

    /// The one of them that most models ask for before they start, else the first.
    pub(super) fn stopper(&self) -> Option<&Switch> {
        let most = self.stoppers().map(|switch| switch.asked.iter().sum::<usize>()).max()?;
        self.stoppers().find(|switch| switch.asked.iter().sum::<usize>() == most)
    }

    /// The first switch with more positions, for what else there is to choose.
    pub(super) fn chooser(&self) -> Option<&Switch> {
        self.switches.iter().find(|switch| switch.positions > 2)
    }
}

impl Switch {
    /// A switch that no model uses yet.
    pub(super) fn new(name: &str, positions: u8) -> Self {
        Self { name: name.to_owned(), positions, asked: [0; 2] }
    }

    /// The name of a position, from 0.
    pub(super) fn position(&self, index: u8) -> String {
        let kind = ControlKind::Switch { positions: self.positions, sprung_to: None };
        kind.position_name(index).to_string()
    }

    /// Whether its last position is the one that means "off" to the pilot, by the start checks there are.
    pub(super) const fn is_off_last(&self) -> bool {
        self.asked[1] > self.asked[0]
    }
}

impl Carrier {
    /// A link that carries so many channels unchanged, and of which no number is in use.
    pub(super) fn new(name: &str, channels: u8) -> Self {
        let numbers = Numbers { links: vec![name.to_owned()], range: Some((1, u16::MAX)), used: BTreeMap::new() };
        Self { name: name.to_owned(), carried: (1..=channels).map(|channel| (channel, None)).collect(), numbers }
    }

    /// Whether it carries a channel with at least so many levels.
    pub(super) fn carries(&self, channel: u8, levels: u32) -> bool {
        let tells_apart = |told: Option<u32>| told.is_none_or(|told| told >= levels);
        self.carried.iter().any(|&(carried, told)| carried == channel && tells_apart(told))
    }

    /// The first channel behind the four of the sticks that it carries with at least so many levels, apart from one.
    pub(super) fn beside(&self, levels: u32, other: u8) -> Option<u8> {
        (5..=64).find(|&channel| channel != other && self.carries(channel, levels))
    }
}

impl Numbers {
    /// Those of several links together: in the range of all of them, and in use where one uses it.
    fn together<'n>(all: impl IntoIterator<Item = &'n Self>) -> Self {
        let mut sum = Self { links: Vec::new(), range: None, used: BTreeMap::new() };
        for numbers in all {
            sum.links
                .extend(numbers.links.iter().filter(|link| !sum.links.contains(link)).cloned().collect::<Vec<_>>());
            sum.used.extend(numbers.used.iter().map(|(number, user)| (*number, user.clone())));
            sum.range = match (sum.range, numbers.range) {
                (Some((low, high)), Some((from, to))) => Some((low.max(from), high.min(to))),
                (one, other) => one.or(other),
            };
        }
        sum
    }

    /// Whether there are numbers to choose from.
    pub(super) const fn are_used(&self) -> bool {
        self.range.is_some()
    }

    /// The lowest number that nobody uses.
    pub(super) fn free(&self) -> Option<u16> {
        let (low, high) = self.range?;
        (low..=high).find(|number| !self.used.contains_key(number))
    }

    /// Whether a number can be a new aircraft's.
    ///
    /// # Errors
    /// Why not, and what can, in words.
    pub(super) fn take(&self, number: u16) -> Result<u16, String> {
        let (low, high) = self.range.unwrap_or((0, u16::MAX));
        let free = self.free().map_or(String::new(), |free| format!("; {free} is free"));
        match self.used.get(&number) {
            _ if !(low..=high).contains(&number) => {
                Err(format!("answer a number from {low} to {high}: link {} has no other{free}", self.links.join(", ")))
            }
            Some(user) => Err(format!("number {number} is that of \"{user}\"{free}")),
            None => Ok(number),
        }
    }
}

fn desk(fleet: &Fleet, handset: &Handset) -> Option<Desk> {
    let name = &handset.head.name.value;
    let models = || {
        let own = fleet.models.iter().filter(|model| model.handset.as_ref().is_some_and(|own| own.value == *name));
        own.filter(|model| model.simulator.is_none())
    };
    let bays: Vec<Bay> = handset.modules.iter().filter_map(|module| bay(fleet, module, models())).collect();
    if bays.is_empty() {
        return None;
    }
    let switches = handset.controls.iter().filter_map(|control| match control.kind {
        ControlKind::Switch { positions, sprung_to: None } => {
            let mut switch = Switch::new(&control.name.value, positions);
            let checks = models().flat_map(|model| &model.before_start);
            for check in checks.filter(|check| check.control.value == control.name.value) {
                match control.kind.position(&check.position.value) {
                    Some(0) => switch.asked[0] += 1,
                    Some(last) if last + 1 == positions => switch.asked[1] += 1,
                    _ => {}
                }
            }
            Some(switch)
        }
        _ => None,
    });
    let filled = handset.modules.iter().filter(|module| !module.empty);
    let scale = handset.scale.map_or((1500.0, 500.0), |scale| (scale.value.0.to_f64(), scale.value.1.to_f64()));
    Some(Desk {
        name: name.to_string(),
        grip: handset.grip(),
        springs: handset.throttle_springs() == Some(true),
        scale,
        switches: switches.collect(),
        controls: handset.controls.iter().map(|control| control.name.value.to_string()).collect(),
        bays,
        filled: filled.map(|module| module.bay.value.to_string()).collect(),
    })
}

fn bay<'f>(fleet: &Fleet, module: &HandsetModule, models: impl Iterator<Item = &'f Model>) -> Option<Bay> {
    let link = fleet.link(&module.link.as_ref()?.value)?;
    let name = &module.bay.value;
    let used = models.flat_map(Model::modules_on).filter(|used| used.bay.value == *name);
    let rate = used.filter_map(|used| used.update_rate).next().or(link.update_rates.first().copied());
    let channels = (1..=64).filter(|&channel| link.carries_channel(channel));
    let levels = |channel| Some(link.carry(channel)?.levels?.value);
    // A link that says nothing of its channels carries those that any link does.
    let most = if link.channels.is_none() && link.carries.is_empty() { 8 } else { 64 };
    let carried = channels.filter(|channel| *channel <= most).map(|channel| (channel, levels(channel)));
    let range = link.receiver_numbers.map_or((1, u16::MAX), |numbers| numbers.value);
    let looks = link.number_check.is_none_or(|check| check.value != NumberCheck::None);
    let link_name = link.head.name.value.to_string();
    let numbers =
        Numbers { range: looks.then_some(range), used: used_on(fleet, &link_name), links: vec![link_name.clone()] };
    Some(Bay {
        name: name.to_string(),
        link: Carrier { name: link_name, carried: carried.collect(), numbers },
        update_rate: rate.map(|rate| format!("{} Hz", rate.value)),
    })
}

/// The receiver numbers that are in use on a link, each with who uses it.
fn used_on(fleet: &Fleet, link: &str) -> BTreeMap<u16, String> {
    let speaks = |model: &Model, bay: &str| {
        let handset = model.handset.as_ref().and_then(|name| fleet.handset(&name.value));
        let module = handset.and_then(|handset| handset.module(bay));
        module.and_then(|module| module.link.as_ref()).is_some_and(|own| own.value == link)
    };
    let of_models = fleet.models.iter().flat_map(|model| model.modules.iter().map(move |module| (model, module)));
    let of_models = of_models
        .filter(|(model, module)| speaks(model, &module.bay.value))
        .filter_map(|(model, module)| Some((module.receiver_number?.value, model.head.name.value.to_string())));
    let of_crafts = fleet.crafts.iter().flat_map(|craft| craft.receivers.iter().map(move |receiver| (craft, receiver)));
    let of_crafts = of_crafts
        .filter(|(_, receiver)| receiver.link.as_ref().is_some_and(|own| own.value == link))
        .filter_map(|(craft, receiver)| Some((locked(receiver)?.value, craft.head.name.value.to_string())));
    of_models.chain(of_crafts).collect()
}

/// An aircraft that another can be like: its kind is known, and a model flies it on a module whose link is described.
fn base(fleet: &Fleet, craft: &Craft) -> Option<Base> {
    let name = &craft.head.name.value;
    let flies = |model: &&Model| model.flies.iter().any(|flown| flown.value == *name);
    let is_plain = |model: &&Model| model.lesson.is_none_or(|lesson| !lesson.value) && model.simulator.is_none();
    let models = || fleet.models.iter().filter(flies);
    let model = models().find(is_plain)?;
    let handset = model.handset.as_ref().and_then(|name| fleet.handset(&name.value))?;
    let on: Vec<&ModelModule> = model.modules_on().collect();
    let own = on.iter().filter_map(|module| bay(fleet, handset.module(&module.bay.value)?, models()));
    let own: Vec<Bay> = own.collect();
    let numbers = Numbers::together(own.iter().map(|bay| &bay.link.numbers));
    let can_be_told_apart = !numbers.are_used() || numbers.free().is_some();
    (!own.is_empty() && can_be_told_apart).then_some(Base {
        name: name.to_string(),
        kind: craft.kind?.value,
        model: model.head.name.value.to_string(),
        bays: on.iter().map(|module| (module.bay.value.to_string(), is_matched(module))).collect(),
        receivers: craft.receivers.iter().map(|one| one.name.as_ref().map(|name| name.value.to_string())).collect(),
        numbers,
        flown_at: craft.flown_at.as_ref().map(|place| place.value.to_string()),
    })
}
