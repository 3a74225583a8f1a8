//! What a change does to the aircraft: two workspaces in, what behaves otherwise out. Nothing is said of layout, comments, names
//! and ways of writing.
//!
//! | file | what it does |
//! |---|---|
//! | `statements` | a block's statements as they mean, under the names that the other side has |
//! | `blocks` | which block of one side is which of the other; statements that came, went or say something else |
//! | `side`, `join` | two programs as one, with what they share standing in it once |
//! | `pair` | two programs side by side: looked at in single positions, asked about all of them |
//! | `differ` | what one model does to one aircraft, before and now |
//! | `exchanged` | two channels that have changed places |
//! | `findings` | the findings that came and went |
//!
//! What the signal path does is decided by the query over both programs together: the same is proved, a difference has
//! positions that show it on each side by itself, and what is neither is told as not decided. Pulses count as the same up to 0.1 us, or
//! up to one step of a link that carries them in more than a hundred.
//! Everything else that is stated is compared as it is stated.

mod blocks;
mod differ;
mod exchanged;
mod findings;
mod join;
mod pair;
mod programs;
mod side;
mod statements;

pub use findings::Told;
pub use programs::{Same, same_pulses};

use crate::fleet::Fleet;
use crate::fleet::equipment::{Control, Handset};
use crate::fleet::model::Model;
use crate::fleet::occurs::Named;
use crate::inspect::Workspace;
use crate::rules::matrix::{Connects, Matrix};
use crate::setup::{Context, ModelSetup, Setup, Witness};
use blocks::{Blocks, Matched};
use rustc_hash::FxHashSet;
use statements::Renames;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// What changed.
#[derive(Debug, Default)]
pub struct Comparison {
    /// What behaves otherwise, the worst first; aircraft before what they share.
    pub subjects: Vec<Subject>,
    /// Findings that came.
    pub came: Vec<Told>,
    /// Findings that went.
    pub went: Vec<Told>,
    /// How many aircraft do the same as before.
    pub same: usize,
    /// How many faults the description had, and has.
    pub faults: (usize, usize),
}

/// An aircraft, or another thing that is described.
#[derive(Debug)]
pub struct Subject {
    /// `aircraft`, `model`, `handset`, `link` or `place`.
    pub kind: &'static str,
    /// Its name now, or before where it is gone.
    pub name: String,
    /// Its name before, where it is another and the two do not say quite the same.
    pub before: Option<String>,
    /// Of an aircraft the models that it is flown with now.
    pub models: Vec<String>,
    /// What changed, the worst first.
    pub changes: Vec<Change>,
    /// What was not decided.
    pub open: Vec<Open>,
}

/// One thing that is otherwise.
#[derive(Debug)]
pub struct Change {
    /// What.
    pub what: What,
    /// The model under which it is so.
    pub model: Option<String>,
    /// The link over which it is so, where others show nothing of it.
    pub over: Option<String>,
    /// Positions that show it, read on both sides.
    pub example: Option<Box<Example>>,
}

/// The same positions on both sides.
#[derive(Debug)]
pub struct Example {
    /// As it was.
    pub old: Witness,
    /// As it is.
    pub new: Witness,
}

/// Something that was not decided.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Open {
    /// What, as the object of "not decided".
    pub what: String,
    /// Why.
    pub why: String,
}

/// What can be otherwise.
#[derive(Clone, PartialEq, Debug)]
pub enum What {
    /// Whether a mode is on.
    Mode {
        /// Its name; `arm` is the request to arm.
        name: String,
        /// Whether it is on now, and was not.
        now: bool,
    },
    /// Whether a motor stands still.
    Still {
        /// Its channel.
        channel: u8,
        /// Whether it stands still now, and did not.
        now: bool,
    },
    /// Whether a condition holds that something beside the channels hangs on.
    Condition {
        /// Its name.
        name: String,
        /// Whether it holds now, and did not.
        now: bool,
    },
    /// The pulse of a channel.
    Pulse {
        /// Its number.
        channel: u16,
        /// What it moves, or the pilot's word for it; may be empty.
        label: String,
        /// What it was, in us.
        old: f64,
        /// What it is, in us.
        new: f64,
        /// The modes that look at it and are on, before and now.
        modes: (Vec<String>, Vec<String>),
        /// How what it moves goes otherwise: `the other way`, `further up`; empty where that can't be said.
        way: String,
    },
    /// A position that a switch did not have.
    Position {
        /// The switch.
        control: String,
        /// The position.
        position: String,
        /// What is read there and not at rest: the channel, its pulse in us, and the modes that look at it and are on.
        reads: Vec<(u16, f64, Vec<String>)>,
    },
    /// Whether the model defines a channel.
    Defined {
        /// Its number.
        channel: u16,
        /// What the aircraft reads it for; may be empty.
        label: String,
        /// The controls that may move it.
        movers: Vec<String>,
        /// Whether the link carries it, as far as that is known.
        arrives: bool,
        /// Whether it does now, and did not.
        now: bool,
    },
    /// Two channels have changed places: each does now exactly what the other did.
    Exchanged {
        /// Their numbers, the lower one first.
        channels: [u16; 2],
        /// What each moves, or the pilot's word for it; may be empty.
        labels: [String; 2],
        /// The controls that may move each now.
        movers: [Vec<String>; 2],
    },
    /// Whether the link carries a channel.
    Carried {
        /// Its number.
        channel: u16,
        /// What the aircraft reads it for; may be empty.
        label: String,
        /// Whether it does now, and did not.
        now: bool,
    },
    /// Whether a model and the aircraft connect.
    Connects {
        /// The model.
        model: String,
        /// Before; nothing where one of them was not there.
        old: Option<Connects>,
        /// Now.
        new: Connects,
        /// Whether the model lists the aircraft.
        listed: bool,
    },
    /// Statements that are compared as they are stated.
    Statement {
        /// Which: `alarm battery`; the outermost, where they stand in another.
        about: String,
        /// The statement that they stand in; may be empty.
        within: String,
        /// As they were written; empty where it is new.
        old: Vec<String>,
        /// As they are written; empty where it is gone.
        new: Vec<String>,
    },
    /// The block can't be put together on one of the sides.
    NotReadable,
    /// It is described now, and was not.
    New,
    /// It is no longer described.
    Gone,
}

impl Change {
    fn of(what: What, example: Option<Box<Example>>) -> Self {
        Self { what, model: None, over: None, example }
    }

    /// How much a pilot has to fear of it: more is worse.
    pub fn weight(&self) -> u8 {
        match &self.what {
            What::Mode { name, now } if name == "arm" => 5 - u8::from(!now),
            What::Still { now, .. } => 5 - 2 * u8::from(*now),
            What::Connects { new, listed, .. } if (*new == Connects::No) == *listed => 4,
            What::Statement { about, old, new, .. } => {
                let is_loss = |text: &str| text.contains("failsafe") || text.contains("on-loss");
                let all = old.iter().chain(new).chain([about]);
                1 + 3 * u8::from(all.into_iter().any(|text| is_loss(text)))
            }
            What::Mode { .. } | What::Exchanged { .. } => 3,
            What::Gone
            | What::NotReadable
            | What::Pulse { .. }
            | What::Position { .. }
            | What::Defined { .. }
            | What::Carried { .. }
            | What::Condition { .. } => 2,
            What::Connects { .. } | What::New => 1,
        }
    }
}

/// Compares what two workspaces describe. Both are asked for their outcomes.
pub fn compare(old: &mut Workspace, new: &mut Workspace) -> Comparison {
    let outcomes = (old.outcome(), new.outcome());
    let mut comparison = Comparison { faults: (old.faults(), new.faults()), ..Comparison::default() };
    let blocks = Blocks::of(old, new);
    let (before, now) = (old.context(), new.context());
    let comparer = Comparer {
        old,
        new,
        before: &before,
        now: &now,
        blocks: &blocks,
        by_craft: BTreeMap::new(),
        alone: Vec::new(),
    };
    let renamed = comparer.all(&mut comparison);
    (comparison.came, comparison.went) = findings::came_and_went(&outcomes.0.findings, &outcomes.1.findings, &renamed);
    for subject in &mut comparison.subjects {
        subject.changes.sort_by_key(|change| Reverse(change.weight()));
    }
    let worst = |subject: &Subject| subject.changes.first().map_or(0, Change::weight);
    comparison.subjects.sort_by(|one, other| {
        let key = |subject: &Subject| (subject.kind != AIRCRAFT, Reverse(worst(subject)));
        key(one).cmp(&key(other)).then_with(|| one.name.cmp(&other.name))
    });
    comparison
}

const AIRCRAFT: &str = "aircraft";

/// What was found about an aircraft.
#[derive(Default)]
struct OfCraft {
    changes: Vec<Change>,
    open: Vec<Open>,
    /// Modes that have another name now.
    renamed: Renames,
}

struct Comparer<'w> {
    old: &'w Workspace,
    new: &'w Workspace,
    before: &'w Context<'w>,
    now: &'w Context<'w>,
    blocks: &'w Blocks<'w>,
    by_craft: BTreeMap<String, OfCraft>,
    /// What belongs to no aircraft.
    alone: Vec<Subject>,
}

impl Comparer<'_> {
    /// Compares everything; gives the names that are others now.
    fn all(mut self, comparison: &mut Comparison) -> Renames {
        let blocks = self.blocks;
        let mut renamed = blocks.renames().clone();
        for matched in blocks.of_kind(Fleet::MODEL) {
            renamed.add_all(&self.model(matched));
        }
        for matched in blocks.of_kind(Fleet::CRAFT) {
            let found = self.by_craft.entry(matched.name().to_owned()).or_default();
            let own = std::mem::take(&mut found.renamed);
            found.changes.extend(changes(blocks, Fleet::CRAFT, matched, &own));
        }
        self.default_place();
        for (kind, word) in [(Fleet::HANDSET, "handset"), (Fleet::LINK, "link"), (Fleet::SITE, "place")] {
            for matched in blocks.of_kind(kind) {
                let own = match (&matched.old, &matched.new) {
                    (Some(old), Some(new)) if kind == Fleet::HANDSET => self.controls(old, new),
                    _ => Renames::default(),
                };
                let changes = changes(blocks, kind, matched, &own);
                self.alone.extend(subject(word, matched, changes));
            }
        }
        self.pairings();
        for (name, OfCraft { changes, open, .. }) in self.by_craft {
            if changes.is_empty() && open.is_empty() {
                comparison.same += 1;
                continue;
            }
            let mut matched = blocks.of_kind(Fleet::CRAFT).iter().filter(|matched| matched.name() == name);
            let before = matched.next().and_then(Matched::before);
            let flies = |model: &&Model| model.flies.iter().any(|it| it.value == name);
            let models = self.new.fleet().models.iter().filter(flies).map(|model| model.head.name.value.to_string());
            let models = models.collect();
            comparison.subjects.push(Subject { kind: AIRCRAFT, name, before, models, changes, open });
        }
        comparison.subjects.extend(self.alone);
        renamed
    }

    /// What changed of a model: told at its aircraft, or by itself where none is flown with it on both sides. Gives the names
    /// that are others now.
    fn model(&mut self, matched: &Matched) -> Renames {
        let (Some(old), Some(new)) = (&matched.old, &matched.new) else {
            self.alone.extend(subject(
                "model",
                matched,
                changes(self.blocks, Fleet::MODEL, matched, &Renames::default()),
            ));
            return Renames::default();
        };
        let (Some(before), Some(now)) = (self.old.fleet().model(old), self.new.fleet().model(new)) else {
            return Renames::default();
        };
        let mut renamed = match (&before.handset, &now.handset) {
            (Some(before), Some(now)) => self.controls(&before.value, &now.value),
            _ => Renames::default(),
        };
        let (before, now) = (ModelSetup::new(self.before, before), ModelSetup::new(self.now, now));
        let mentioned = self.blocks.mentioned(new);
        let mut met: Vec<(String, differ::Found)> = Vec::new();
        for setup in &now.setups {
            let name = setup.craft.head.name.value.as_str();
            let is_same = |other: &&Setup<'_>| self.blocks.now(Fleet::CRAFT, &other.craft.head.name.value) == name;
            let Some(other) = before.setups.iter().find(is_same) else { continue };
            let found = match self.blocks.are_written_alike(other, setup) {
                true => differ::Found::default(),
                false => differ::compare(other, setup, self.blocks, &mentioned),
            };
            renamed.add_all(&found.renamed);
            met.push((name.to_owned(), found));
        }
        // Without an aircraft what a model does is told as it is stated, unless it sends the same.
        let all = met.is_empty() && !(mentioned.is_empty() && differ::sends_the_same(&before, &now));
        let stated = self.blocks.changed(Fleet::MODEL, old, new, &renamed, all);
        let stated = stated.into_iter().map(|what| Change::of(what, None)).collect::<Vec<_>>();
        if met.is_empty() {
            self.alone.extend(subject("model", matched, stated));
            return renamed;
        }
        for (name, found) in met {
            let under = |change: Change| Change { model: Some(new.clone()), ..change };
            let own = self.by_craft.entry(name).or_default();
            own.changes.extend(found.changes.into_iter().map(under));
            own.changes.extend(stated.iter().map(|change| under(Change::of(change.what.clone(), None))));
            own.open.extend(found.open);
            own.renamed.add_all(&found.renamed);
        }
        renamed
    }

    /// The controls of a handset that have another name now.
    fn controls(&self, old: &str, new: &str) -> Renames {
        let handset = |workspace: &'_ Workspace, name: &str| -> Option<Handset> {
            workspace.fleet().handsets.iter().find(|it| it.head.name.value == name).cloned()
        };
        let mut renamed = Renames::default();
        let (Some(old), Some(new)) = (handset(self.old, old), handset(self.new, new)) else { return renamed };
        let mut taken: FxHashSet<&str> = FxHashSet::default();
        for control in old.controls.iter().filter(|control| new.control(&control.name.value).is_none()) {
            let is = |other: &&Control| {
                other.kind == control.kind
                    && old.control(&other.name.value).is_none()
                    && !taken.contains(other.name.value.as_str())
            };
            if let Some(other) = new.controls.iter().find(is) {
                taken.insert(&other.name.value);
                renamed.add(Named::Control, &control.name.value, &other.name.value);
            }
        }
        renamed
    }

    /// The place of aircraft that name none stands in the settings.
    fn default_place(&mut self) {
        let was = self.before.default_place.map(|place| self.blocks.now(Fleet::SITE, place));
        let is = self.now.default_place.map(str::to_owned);
        if was == is {
            return;
        }
        for craft in self.new.fleet().crafts.iter().filter(|craft| craft.flown_at.is_none()) {
            let stated = |place: &Option<String>| place.iter().map(|place| format!("place \"{place}\"")).collect();
            let what = What::Statement {
                about: "place".to_owned(),
                within: "the settings".to_owned(),
                old: stated(&was),
                new: stated(&is),
            };
            let own = self.by_craft.entry(craft.head.name.value.to_string()).or_default();
            own.changes.push(Change::of(what, None));
        }
    }

    /// Pairs of a model and an aircraft that connect otherwise. Only those are looked at of which something is stated otherwise.
    fn pairings(&mut self) {
        let fleets = (self.old.fleet(), self.new.fleet());
        let (models, crafts) = (self.touched_models(), self.touched_crafts());
        if models.is_empty() && crafts.is_empty() {
            return;
        }
        let rows = |model: &Model, side: &Fleet| -> Vec<usize> {
            let is_touched = models.contains(model.head.name.value.as_str());
            let all = side.crafts.iter().enumerate();
            all.filter(|(_, craft)| is_touched || crafts.contains(craft.head.name.value.as_str()))
                .map(|(at, _)| at)
                .collect()
        };
        let mut known: BTreeMap<(String, String), Connects> = BTreeMap::new();
        let before = Matrix::new(self.before);
        for model in &fleets.0.models {
            let row = rows(model, fleets.0);
            for cell in before.row(model, row.iter().filter_map(|at| fleets.0.crafts.get(*at))) {
                let craft = self.blocks.now(Fleet::CRAFT, &cell.craft.head.name.value);
                let model = self.blocks.now(Fleet::MODEL, &cell.model.head.name.value);
                known.insert((model, craft), cell.connects);
            }
        }
        let now = Matrix::new(self.now);
        for model in &fleets.1.models {
            let row = rows(model, fleets.1);
            for cell in now.row(model, row.iter().filter_map(|at| fleets.1.crafts.get(*at))) {
                let (model, craft) = (cell.model.head.name.value.to_string(), cell.craft.head.name.value.to_string());
                let was = known.get(&(model.clone(), craft.clone())).copied();
                let expected = if cell.listed { Connects::Yes } else { Connects::No };
                if was == Some(cell.connects) || was.is_none() && cell.connects == expected {
                    continue;
                }
                let what = What::Connects { model, old: was, new: cell.connects, listed: cell.listed };
                self.by_craft.entry(craft).or_default().changes.push(Change::of(what, None));
            }
        }
    }

    /// The names on both sides of the blocks of a kind that are written otherwise.
    fn touched(&self, kind: u8) -> FxHashSet<String> {
        let is_touched = |matched: &&Matched| match (&matched.old, &matched.new) {
            (Some(old), Some(new)) => !self.blocks.is_alike(kind, old, new),
            _ => true,
        };
        let all = self.blocks.of_kind(kind).iter().filter(is_touched);
        all.flat_map(|matched| matched.old.iter().chain(&matched.new)).cloned().collect()
    }

    /// The models of which something is written otherwise that a pairing looks at.
    fn touched_models(&self) -> FxHashSet<String> {
        let (links, mut handsets, mut models) =
            (self.touched(Fleet::LINK), self.touched(Fleet::HANDSET), self.touched(Fleet::MODEL));
        for side in [self.old.fleet(), self.new.fleet()] {
            for handset in &side.handsets {
                let mut named = handset.modules.iter().filter_map(|module| module.link.as_ref());
                if named.any(|link| links.contains(link.value.as_str())) {
                    handsets.insert(handset.head.name.value.to_string());
                }
            }
        }
        for model in self.old.fleet().models.iter().chain(&self.new.fleet().models) {
            if model.handset.as_ref().is_some_and(|name| handsets.contains(name.value.as_str())) {
                models.insert(model.head.name.value.to_string());
            }
        }
        models
    }

    fn touched_crafts(&self) -> FxHashSet<String> {
        let (links, mut crafts) = (self.touched(Fleet::LINK), self.touched(Fleet::CRAFT));
        for craft in self.old.fleet().crafts.iter().chain(&self.new.fleet().crafts) {
            let mut named = craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref());
            if named.any(|link| links.contains(link.value.as_str())) {
                crafts.insert(craft.head.name.value.to_string());
            }
        }
        crafts
    }
}

/// What is stated otherwise of a block, or that it came or went.
fn changes(blocks: &Blocks<'_>, kind: u8, matched: &Matched, renamed: &Renames) -> Vec<Change> {
    let all = match (&matched.old, &matched.new) {
        (Some(old), Some(new)) => blocks.changed(kind, old, new, renamed, false),
        (None, _) => vec![What::New],
        (_, None) => vec![What::Gone],
    };
    all.into_iter().map(|what| Change::of(what, None)).collect()
}

/// A subject, where there is something to say of it.
fn subject(kind: &'static str, matched: &Matched, changes: Vec<Change>) -> Option<Subject> {
    let (name, before) = (matched.name().to_owned(), matched.before());
    (!changes.is_empty()).then_some(Subject { kind, name, before, models: Vec::new(), changes, open: Vec::new() })
}
