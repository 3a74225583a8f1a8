//! What rules said about a subject, kept with what it hangs on.

use super::aircraft::Aircraft;
use crate::findings::coverage::Coverage;
use crate::findings::{Finding, RuleId};
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Handset;
use crate::fleet::model::Model;
use crate::fleet::{FileFleet, Fleet};
use crate::setup::Arms;
use crate::setup::{numbers_of_craft, numbers_of_model};
use crate::source::{FileId, Place};
use compact_str::CompactString;
use rustc_hash::{FxHashSet, FxHasher};
use std::hash::{Hash, Hasher};

/// What was found when the rules were asked about one subject: a model with its aircraft, an aircraft, or a handset.
#[derive(Debug, Default)]
pub(super) struct Asked {
    pub(super) findings: Vec<Finding>,
    /// The rules that were not decided, and where.
    pub(super) undecided: Vec<(RuleId, Place)>,
    /// What the arming controls of a model do.
    pub(super) arms: Vec<Arms>,
    /// What a model has that others may have too, each with the number of the rule that asks for it, as a hash.
    pub(super) shares: Vec<(usize, u64)>,
    /// The aircraft that it is about; none of a handset, which is asked again with the models that name it.
    pub(super) aircraft: Vec<CompactString>,
    /// How the rules ended for its aircraft; of a handset, under its own name.
    pub(super) coverage: Coverage,
    /// Every name in it is defined, and nothing feeds itself.
    pub(super) is_sound: bool,
    /// The names that it hangs on.
    pub(super) needs: Vec<Need>,
    /// How much was looked at for it, of a model's analysis budget.
    pub(super) work: u64,
}

/// Something outside of a subject that what was said about it hangs on: a name, whether it is defined or not, as a hash. Should
/// two have one hash, more is asked again than has to be.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub(super) struct Need(u64);

impl Need {
    /// All receiver numbers that are in use.
    pub(super) const NUMBERS: Self = Self(0);

    /// A name of a kind of blocks, as the fleet numbers them.
    pub(super) fn name(kind: u8, name: &str) -> Self {
        let mut hasher = FxHasher::default();
        (kind, name).hash(&mut hasher);
        Self(hasher.finish().max(1))
    }

    /// What a model hangs on: its handset, its aircraft, and what they hang on.
    pub(super) fn of_model(fleet: &Fleet, model: &Model, default_place: Option<&str>) -> Vec<Self> {
        let mut needs = Vec::new();
        if let Some(name) = &model.handset {
            needs.push(Self::name(Fleet::HANDSET, &name.value));
            needs.extend(fleet.handset(&name.value).into_iter().flat_map(Self::of_handset));
        }
        for name in &model.flies {
            needs.push(Self::name(Fleet::CRAFT, &name.value));
            needs.extend(fleet.craft(&name.value).into_iter().flat_map(|craft| Self::of_craft(craft, default_place)));
        }
        needs
    }

    /// What an aircraft hangs on: the links of its receivers, and the place where it is flown.
    pub(super) fn of_craft<'f>(craft: &'f Craft, default_place: Option<&'f str>) -> impl Iterator<Item = Self> + 'f {
        let links = craft.receivers.iter().filter_map(|receiver| receiver.link.as_ref());
        let place = craft.flown_at.as_ref().map(|name| name.value.as_str()).or(default_place);
        links.map(|link| Self::name(Fleet::LINK, &link.value)).chain(place.map(|place| Self::name(Fleet::SITE, place)))
    }

    /// What a handset hangs on: the links of its bays.
    pub(super) fn of_handset(handset: &Handset) -> impl Iterator<Item = Self> + '_ {
        let links = handset.modules.iter().filter_map(|module| module.link.as_ref());
        links.map(|link| Self::name(Fleet::LINK, &link.value))
    }
}

/// What files define, and the aircraft that they fly, that others can hang on.
#[derive(Debug, Default)]
pub(super) struct Defined {
    pub(super) names: FxHashSet<Need>,
    /// The receiver numbers that are used in them.
    pub(super) numbers: Vec<u16>,
}

impl Defined {
    /// Adds those of a file.
    pub(super) fn add(&mut self, fleet: &Fleet, file: FileId) {
        self.names.extend(fleet.heads_of(file).map(|(kind, head)| Need::name(kind, &head.name.value)));
        // What one model of an aircraft is told hangs on the others that fly it.
        let flown = fleet.models_of(file).iter().flat_map(|model| &model.flies);
        self.names.extend(flown.map(|name| Need::name(Fleet::CRAFT, &name.value)));
        self.numbers.extend(fleet.models_of(file).iter().flat_map(numbers_of_model));
        self.numbers.extend(fleet.crafts_of(file).iter().flat_map(numbers_of_craft));
    }
}

/// What was said about the subjects of one file, in their order; `None` where the rules are to be asked.
#[derive(Debug, Default)]
pub(super) struct Subjects {
    pub(super) handsets: Vec<Option<Asked>>,
    pub(super) crafts: Vec<Option<Asked>>,
    pub(super) models: Vec<Option<Asked>>,
}

impl Subjects {
    /// Nobody has asked yet about the blocks of a file.
    pub(super) fn none(fleet: &FileFleet) -> Self {
        let none = |count: usize| (0..count).map(|_| None).collect();
        Self {
            handsets: none(fleet.handsets.len()),
            crafts: none(fleet.crafts.len()),
            models: none(fleet.models.len()),
        }
    }

    fn lists(&self) -> [&[Option<Asked>]; 3] {
        [&self.handsets, &self.crafts, &self.models]
    }

    fn slots(&mut self) -> impl Iterator<Item = &mut Option<Asked>> {
        self.handsets.iter_mut().chain(&mut self.crafts).chain(&mut self.models)
    }

    /// Takes what was said now; the rest stays.
    pub(super) fn take(&mut self, mut new: Self) {
        for (slot, new) in self.slots().zip(new.slots()) {
            if new.is_some() {
                *slot = new.take();
            }
        }
    }

    /// Everything that was said.
    pub(super) fn asked(&self) -> impl Iterator<Item = &Asked> {
        self.lists().into_iter().flatten().flatten()
    }

    /// Whether there is something to ask.
    pub(super) fn are_open(&self) -> bool {
        self.lists().into_iter().flatten().any(Option::is_none)
    }

    /// The aircraft that they are about.
    pub(super) fn aircraft(&self) -> impl Iterator<Item = &CompactString> {
        self.asked().flat_map(|asked| &asked.aircraft)
    }

    /// Forgets what hangs on something of these; `aircraft` is told what it was about.
    pub(super) fn forget(&mut self, changed: &FxHashSet<Need>, aircraft: &mut Aircraft) {
        let hangs = |asked: &Asked| asked.needs.iter().any(|need| changed.contains(need));
        for slot in self.slots().filter(|slot| slot.as_ref().is_some_and(hangs)) {
            slot.take().into_iter().for_each(|asked| aircraft.open(&asked.aircraft));
        }
    }

    /// Forgets everything.
    pub(super) fn forget_all(&mut self) {
        self.slots().for_each(|slot| *slot = None);
    }

    pub(super) fn each_place(&mut self, visit: &mut dyn FnMut(&mut Place)) {
        for asked in self.slots().flatten() {
            asked.findings.iter_mut().for_each(|finding| finding.each_place(visit));
            asked.undecided.iter_mut().for_each(|(_, place)| visit(place));
            asked.arms.iter_mut().for_each(|arms| visit(&mut arms.place));
            asked.coverage.each_place(visit);
        }
    }
}
