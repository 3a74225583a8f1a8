//! What a change does to the aircraft: two workspaces in, what behaves otherwise out. Nothing is said of layout, comments, names
//! and ways of writing.
//!
//! | file | what it does |
//! |---|---|
//! | `statements` | a block's statements as they mean, whatever they look like |
//! | `side`, `join` | two programs as one, with what they share standing in it once |
//! | `differ` | what one model does to one aircraft, before and now |
//! | `blocks` | which block of one side is which of the other; statements that came, went or say something else |
//!
//! What the signal path does is decided by the query over both programs together: the same is proved, a difference has
//! positions that show it on each side by itself, and what is neither is told as not decided. Pulses count as the same up to 0.1 us.
//! Everything else that is stated is compared as it is stated.

mod blocks;
mod differ;
mod join;
mod side;
mod statements;
#[cfg(test)]
mod tests;

use crate::findings::{Finding, Severity};
use crate::fleet::Fleet;
use crate::inspect::Workspace;
use crate::rules::matrix::{Connects, Matrix};
use crate::setup::{Context, ModelSetup, Setup, Witness};
use blocks::{Blocks, Matched};
use rustc_hash::{FxHashMap, FxHashSet};
use std::cmp::Reverse;

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
    /// The model under which it is so, where the aircraft is flown with several.
    pub model: Option<String>,
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
#[derive(Debug)]
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
        /// The pilot's word for it.
        label: String,
        /// What it was, in us.
        old: f64,
        /// What it is, in us.
        new: f64,
        /// The modes that look at it and are on, before and now.
        modes: (Vec<String>, Vec<String>),
    },
    /// Whether the model defines a channel.
    Defined {
        /// Its number.
        channel: u16,
        /// Whether it does now, and did not.
        now: bool,
    },
    /// Whether the link carries a channel.
    Carried {
        /// Its number.
        channel: u16,
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
        /// Which: `controller on-loss`.
        about: String,
        /// As they were written; empty where it is new.
        old: Vec<String>,
        /// As they are written; empty where it is gone.
        new: Vec<String>,
    },
    /// It is described now, and was not.
    New,
    /// It is no longer described.
    Gone,
}

/// A finding that came or went.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub struct Told {
    /// How bad it is.
    pub severity: Reverse<Severity>,
    /// Its rule.
    pub rule: &'static str,
    /// What it says.
    pub message: String,
    /// The aircraft that it concerns.
    pub aircraft: Vec<String>,
}

impl Change {
    fn of(what: What, example: Option<Box<Example>>) -> Self {
        Self { what, model: None, example }
    }

    /// How much a pilot has to fear of it: more is worse.
    pub fn weight(&self) -> u8 {
        match &self.what {
            What::Mode { name, now } if name == "arm" => 5 - u8::from(!now),
            What::Still { now, .. } => 5 - 2 * u8::from(*now),
            What::Connects { new, listed, .. } if (*new == Connects::No) == *listed => 4,
            What::Statement { about, .. } if about.contains("failsafe") || about.contains("on-loss") => 4,
            What::Mode { .. } => 3,
            What::Gone | What::Pulse { .. } | What::Defined { .. } | What::Carried { .. } | What::Condition { .. } => 2,
            What::Connects { .. } | What::Statement { .. } | What::New => 1,
        }
    }
}

/// Compares what two workspaces describe. Both are asked for their outcomes.
pub fn compare(old: &mut Workspace, new: &mut Workspace) -> Comparison {
    let outcomes = (old.outcome(), new.outcome());
    let mut comparison = Comparison { faults: (old.faults(), new.faults()), ..Comparison::default() };
    let blocks = Blocks::of(old, new);
    let (before, now) = (old.context(), new.context());
    let comparer = Comparer { old, new, before: &before, now: &now, blocks: &blocks };
    comparer.all(&mut comparison);
    let (came, went) = came_and_went(&outcomes.0.findings, &outcomes.1.findings, &blocks);
    (comparison.came, comparison.went) = (came, went);
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

struct Comparer<'w> {
    old: &'w Workspace,
    new: &'w Workspace,
    before: &'w Context<'w>,
    now: &'w Context<'w>,
    blocks: &'w Blocks,
}

impl Comparer<'_> {
    fn all(&self, comparison: &mut Comparison) {
        let mut changes: FxHashMap<String, (Vec<Change>, Vec<Open>)> = FxHashMap::default();
        let mut modes: FxHashMap<String, Vec<(String, String)>> = FxHashMap::default();
        let mut alone = Vec::new();
        for matched in self.blocks.of_kind(Fleet::MODEL) {
            self.model(matched, &mut changes, &mut modes, &mut alone);
        }
        for matched in self.blocks.of_kind(Fleet::CRAFT) {
            let (found, _) = changes.entry(matched.name().to_owned()).or_default();
            match (&matched.old, &matched.new) {
                (Some(old), Some(new)) => {
                    let renamed = modes.remove(new).unwrap_or_default();
                    found.extend(self.statements(Fleet::CRAFT, old, new, &renamed));
                }
                (None, _) => found.push(Change::of(What::New, None)),
                (_, None) => found.push(Change::of(What::Gone, None)),
            }
        }
        for (kind, word) in [(Fleet::HANDSET, "handset"), (Fleet::LINK, "link"), (Fleet::SITE, "place")] {
            for matched in self.blocks.of_kind(kind) {
                let changes = match (&matched.old, &matched.new) {
                    (Some(old), Some(new)) => {
                        let renamed = if kind == Fleet::HANDSET { self.controls(old, new) } else { Vec::new() };
                        self.statements(kind, old, new, &renamed)
                    }
                    (None, _) => vec![Change::of(What::New, None)],
                    (_, None) => vec![Change::of(What::Gone, None)],
                };
                if !changes.is_empty() {
                    alone.push(Subject { kind: word, name: matched.name().to_owned(), changes, open: Vec::new() });
                }
            }
        }
        let stated = |change: &Change| matches!(change.what, What::Statement { .. } | What::New | What::Gone);
        let any_stated =
            changes.values().flat_map(|(changes, _)| changes).chain(alone.iter().flat_map(|it| &it.changes));
        if any_stated.into_iter().any(stated) {
            self.pairings(&mut changes);
        }
        for (name, (changes, open)) in changes {
            match changes.is_empty() && open.is_empty() {
                true => comparison.same += 1,
                false => comparison.subjects.push(Subject { kind: AIRCRAFT, name, changes, open }),
            }
        }
        comparison.subjects.extend(alone);
    }

    /// What changed of a model: told at its aircraft, or by itself where it has none on both sides.
    fn model(
        &self,
        matched: &Matched,
        changes: &mut FxHashMap<String, (Vec<Change>, Vec<Open>)>,
        modes: &mut FxHashMap<String, Vec<(String, String)>>,
        alone: &mut Vec<Subject>,
    ) {
        let subject = |what, name: &str| Subject {
            kind: "model",
            name: name.to_owned(),
            changes: vec![Change::of(what, None)],
            open: Vec::new(),
        };
        let (old, new) = match (&matched.old, &matched.new) {
            (Some(old), Some(new)) => (old, new),
            (None, Some(new)) => return alone.push(subject(What::New, new)),
            (Some(old), None) => return alone.push(subject(What::Gone, old)),
            (None, None) => return,
        };
        let (Some(before), Some(now)) = (self.old.fleet().model(old), self.new.fleet().model(new)) else { return };
        let (before, now) = (ModelSetup::new(self.before, before), ModelSetup::new(self.now, now));
        let controls = match (before.handset, now.handset) {
            (Some(before), Some(now)) => self.controls(&before.head.name.value, &now.head.name.value),
            _ => Vec::new(),
        };
        let mut renamed = controls;
        let mentioned = self.blocks.mentioned(self.new, new);
        let mut met: Vec<(String, Vec<Change>, Vec<Open>)> = Vec::new();
        for setup in &now.setups {
            let name = setup.craft.head.name.value.as_str();
            let same = |other: &&Setup<'_>| self.blocks.is_now(Fleet::CRAFT, &other.craft.head.name.value, name);
            let Some(other) = before.setups.iter().find(same) else {
                met.push((name.to_owned(), Vec::new(), Vec::new()));
                continue;
            };
            let found = match self.blocks.are_written_alike(self.old, self.new, other, setup) {
                true => differ::Found::default(),
                false => differ::compare(other, setup, &mentioned),
            };
            modes.entry(name.to_owned()).or_default().extend(found.renamed.iter().cloned());
            renamed.extend(found.renamed);
            met.push((name.to_owned(), found.changes, found.open));
        }
        let stated = self.statements(Fleet::MODEL, old, new, &renamed);
        if met.is_empty() {
            if !stated.is_empty() {
                alone.push(Subject { kind: "model", name: new.clone(), changes: stated, open: Vec::new() });
            }
            return;
        }
        for (name, found, open) in met {
            let several =
                self.new.fleet().models.iter().filter(|model| model.flies.iter().any(|it| it.value == name)).count()
                    > 1;
            let under = |change: Change| Change { model: several.then(|| new.clone()), ..change };
            let (all, not_decided) = changes.entry(name).or_default();
            all.extend(found.into_iter().map(under));
            all.extend(stated.iter().map(|change| under(Change::of(change.what.clone(), None))));
            not_decided.extend(open);
        }
    }

    /// The controls of a handset that have another name now.
    fn controls(&self, old: &str, new: &str) -> Vec<(String, String)> {
        let (Some(old), Some(new)) = (
            self.old.fleet().handsets.iter().find(|it| it.head.name.value == old),
            self.new.fleet().handsets.iter().find(|it| it.head.name.value == new),
        ) else {
            return Vec::new();
        };
        let mut taken: FxHashSet<&str> = FxHashSet::default();
        let mut renamed = Vec::new();
        for control in old.controls.iter().filter(|control| new.control(&control.name.value).is_none()) {
            let is = |other: &&crate::fleet::equipment::Control| {
                other.kind == control.kind
                    && old.control(&other.name.value).is_none()
                    && !taken.contains(other.name.value.as_str())
            };
            if let Some(other) = new.controls.iter().find(is) {
                taken.insert(&other.name.value);
                renamed.push((control.name.value.to_string(), other.name.value.to_string()));
            }
        }
        renamed
    }

    fn statements(&self, kind: u8, old: &str, new: &str, renamed: &[(String, String)]) -> Vec<Change> {
        let changed = self.blocks.changed(self.old, self.new, kind, old, new, renamed);
        changed.into_iter().map(|what| Change::of(what, None)).collect()
    }

    /// Pairs of a model and an aircraft that connect otherwise.
    fn pairings(&self, changes: &mut FxHashMap<String, (Vec<Change>, Vec<Open>)>) {
        let (before, now) = (Matrix::new(self.before), Matrix::new(self.now));
        let mut known: FxHashMap<(String, String), Connects> = FxHashMap::default();
        let old = self.old.fleet();
        for model in &old.models {
            for cell in before.row(model, &old.crafts) {
                let craft = self.blocks.now(Fleet::CRAFT, &cell.craft.head.name.value);
                let model = self.blocks.now(Fleet::MODEL, &cell.model.head.name.value);
                known.insert((model, craft), cell.connects);
            }
        }
        let new = self.new.fleet();
        for model in &new.models {
            for cell in now.row(model, &new.crafts) {
                let (model, craft) = (cell.model.head.name.value.to_string(), cell.craft.head.name.value.to_string());
                let was = known.get(&(model.clone(), craft.clone())).copied();
                let expected = if cell.listed { Connects::Yes } else { Connects::No };
                if was == Some(cell.connects) || was.is_none() && cell.connects == expected {
                    continue;
                }
                let what = What::Connects { model, old: was, new: cell.connects, listed: cell.listed };
                changes.entry(craft).or_default().0.push(Change::of(what, None));
            }
        }
    }
}

/// The findings of one side alone: what came, and what went.
fn came_and_went(old: &[Finding], new: &[Finding], blocks: &Blocks) -> (Vec<Told>, Vec<Told>) {
    let known: FxHashSet<(&str, u64)> = old.iter().map(|finding| (finding.rule, finding.fingerprint)).collect();
    let now: FxHashSet<(&str, u64)> = new.iter().map(|finding| (finding.rule, finding.fingerprint)).collect();
    let told = |finding: &Finding, renamed: bool| Told {
        severity: Reverse(finding.severity),
        rule: finding.rule,
        message: finding.message.clone(),
        aircraft: finding
            .aircraft
            .iter()
            .map(|name| if renamed { blocks.now(Fleet::CRAFT, name) } else { name.to_string() })
            .collect(),
    };
    let is_in = |side: &FxHashSet<(&str, u64)>, it: &Finding| side.contains(&(it.rule, it.fingerprint));
    let mut went: Vec<Told> = old.iter().filter(|it| !is_in(&now, it)).map(|it| told(it, true)).collect();
    let mut came: Vec<Told> = new.iter().filter(|it| !is_in(&known, it)).map(|it| told(it, false)).collect();
    // The words around a finding may be others, and the finding the same.
    went.retain(|one| match came.iter().position(|other| other == one) {
        Some(at) => {
            came.swap_remove(at);
            false
        }
        None => true,
    });
    came.sort();
    went.sort();
    (came, went)
}
