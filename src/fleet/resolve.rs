//! Names over all files: what is defined twice, what is not defined, what feeds itself.

use super::condition::{ConditionKind, Name};
use super::craft::{Craft, ReceiverNumber};
use super::equipment::{Handset, Head, Link, Site};
use super::model::Model;
use super::problem::{Problem, ProblemKind};
use super::read::FileFleet;
use super::scope::Scope;
use super::unknown::Problems;
use crate::source::{Located, Place};
use rustc_hash::FxHashMap;

/// The fleet of all files.
#[derive(Debug, Default)]
pub struct Fleet {
    /// Places.
    pub sites: Vec<Site>,
    /// Links.
    pub links: Vec<Link>,
    /// Handsets.
    pub handsets: Vec<Handset>,
    /// Aircraft.
    pub crafts: Vec<Craft>,
    /// Models.
    pub models: Vec<Model>,
    /// Some file could not be read at all: a name that nobody defines may stand there.
    pub unread: bool,
    names: [FxHashMap<compact_str::CompactString, usize>; 5],
}

impl Fleet {
    /// Puts the files together, in their order, and says which names are defined twice. The first definition counts.
    pub fn gather(files: impl IntoIterator<Item = FileFleet>) -> (Self, Vec<Problem>) {
        let mut all = FileFleet::default();
        files.into_iter().for_each(|file| all.add(file));
        let FileFleet { sites, links, handsets, crafts, models, mut problems, unread } = all;
        let mut fleet = Self { sites, links, handsets, crafts, models, unread, names: Default::default() };
        let kinds: [(&str, Vec<&Head>); 5] = [
            ("places", fleet.sites.iter().map(|site| &site.head).collect()),
            ("links", fleet.links.iter().map(|link| &link.head).collect()),
            ("handsets", fleet.handsets.iter().map(|handset| &handset.head).collect()),
            ("craft", fleet.crafts.iter().map(|craft| &craft.head).collect()),
            ("models", fleet.models.iter().map(|model| &model.head).collect()),
        ];
        let mut names: [FxHashMap<_, usize>; 5] = Default::default();
        for ((what, heads), names) in kinds.iter().zip(&mut names) {
            names.reserve(heads.len());
            for (index, head) in heads.iter().enumerate() {
                let first = *names.entry(head.name.value.clone()).or_insert(index);
                if let Some(first) = heads.get(first).filter(|_| first != index) {
                    let message = format!("there are two {what} called \"{}\"", head.name.value);
                    let place = head.place(head.name.span);
                    let problem = Problem::new(
                        ProblemKind::NameTwice,
                        place,
                        message,
                        "give one of them another name, or inspect one folder at a time if they belong to two fleets",
                    );
                    problems.push(problem.other(first.place(first.name.span), "the first one"));
                }
            }
        }
        fleet.names = names;
        (fleet, problems)
    }

    fn index(&self, kind: usize, name: &str) -> Option<usize> {
        self.names.get(kind)?.get(name).copied()
    }

    /// The place with a name.
    pub fn site(&self, name: &str) -> Option<&Site> {
        self.sites.get(self.index(0, name)?)
    }

    /// The link with a name.
    pub fn link(&self, name: &str) -> Option<&Link> {
        self.links.get(self.index(1, name)?)
    }

    /// The handset with a name.
    pub fn handset(&self, name: &str) -> Option<&Handset> {
        self.handsets.get(self.index(2, name)?)
    }

    /// The craft with a name.
    pub fn craft(&self, name: &str) -> Option<&Craft> {
        self.crafts.get(self.index(3, name)?)
    }

    /// The model with a name.
    pub fn model(&self, name: &str) -> Option<&Model> {
        self.models.get(self.index(4, name)?)
    }

    /// What a handset, craft or model names and nobody defines, and what feeds itself.
    pub fn check(&self) -> Vec<Problem> {
        let mut problems = Problems::default();
        for handset in &self.handsets {
            self.check_handset(handset, &mut problems);
        }
        for craft in &self.crafts {
            self.check_craft(craft, &mut problems);
        }
        for model in &self.models {
            self.check_model(model, &mut problems);
        }
        problems.list
    }

    fn known(&self, kind: usize) -> impl Iterator<Item = &str> {
        self.names.get(kind).into_iter().flatten().map(|(name, _)| name.as_str())
    }

    fn defined(&self, kind: usize, what: &str, name: &Name, head: &Head, problems: &mut Problems) -> bool {
        let found = self.index(kind, &name.value).is_some();
        if !found && !self.unread {
            problems.unknown(head.place(name.span), what, name, self.known(kind));
        }
        found
    }

    fn check_handset(&self, handset: &Handset, problems: &mut Problems) {
        for link in handset.modules.iter().filter_map(|module| module.link.as_ref()) {
            self.defined(1, "link", link, &handset.head, problems);
        }
    }

    fn check_craft(&self, craft: &Craft, problems: &mut Problems) {
        if let Some(site) = &craft.flown_at {
            self.defined(0, "place", site, &craft.head, problems);
        }
        for receiver in &craft.receivers {
            let Some(name) = &receiver.link else { continue };
            if !self.defined(1, "link", name, &craft.head, problems) {
                continue;
            }
            if let (Some(link), Some(Located { value: ReceiverNumber::Locked(number), span })) =
                (self.link(&name.value), receiver.number)
            {
                number_in_range(link, number, craft.head.place(span), problems);
            }
        }
        if let Some(controller) = &craft.controller {
            let known = || controller.modes.iter().map(|mode| mode.name.value.as_str());
            for excluded in controller.modes.iter().filter_map(|mode| mode.excludes.as_ref()) {
                if controller.mode(&excluded.value).is_none() {
                    problems.unknown(craft.head.place(excluded.span), "mode", excluded, known());
                }
            }
        }
        for expect in &craft.expects {
            // The controls are those of whichever model flies the craft; they are looked up there.
            expect.condition.walk(&mut |condition| {
                if let ConditionKind::Mode(name) = &condition.kind {
                    self.check_mode(name, &craft.head, std::slice::from_ref(&craft), problems);
                }
            });
        }
    }

    pub(super) fn check_mode(&self, name: &Name, head: &Head, crafts: &[&Craft], problems: &mut Problems) {
        let modes =
            || crafts.iter().filter_map(|craft| craft.controller.as_ref()).flat_map(|controller| &controller.modes);
        if !modes().any(|mode| mode.name.value == name.value) {
            problems.unknown(head.place(name.span), "mode", name, modes().map(|mode| mode.name.value.as_str()));
        }
    }

    fn check_model(&self, model: &Model, problems: &mut Problems) {
        for name in &model.flies {
            self.defined(3, "craft", name, &model.head, problems);
        }
        if let Some(name) = &model.handset {
            self.defined(2, "handset", name, &model.head, problems);
        }
        if !model.reduced {
            problems.list.extend(self.check_inside(model));
        }
    }

    /// What a model names inside of itself, its handset and its aircraft and what is not there, and what feeds itself.
    pub fn check_inside(&self, model: &Model) -> Vec<Problem> {
        let mut problems = Problems::default();
        let crafts: Vec<&Craft> = model.flies.iter().filter_map(|name| self.craft(&name.value)).collect();
        super::cycles::check(model, &crafts, &mut problems);
        if let Some(handset) = model.handset.as_ref().and_then(|name| self.handset(&name.value)) {
            let mut scope = Scope { fleet: self, model, handset, crafts: &crafts, problems: &mut problems };
            scope.check();
        }
        problems.list
    }
}

pub(super) fn number_in_range(link: &Link, number: u16, place: Place, problems: &mut Problems) {
    let Some(range) = link.receiver_numbers else { return };
    let (low, high) = range.value;
    if !(low..=high).contains(&number) {
        let message =
            format!("receiver number {number} is outside what link \"{}\" has: {low}..{high}", link.head.name.value);
        let problem = Problem::new(ProblemKind::Range, place, message, format!("choose a number from {low} to {high}"));
        problems.push(problem.other(link.head.place(range.span), "the numbers of the link"));
    }
}

/// A name as it is written: in quotes where it is no word.
pub fn quoted(name: &str) -> String {
    let mut bytes = name.bytes();
    let word = bytes.next().is_some_and(|byte| byte.is_ascii_alphabetic())
        && bytes.all(|byte| byte.is_ascii_alphanumeric() || byte == b'-' || byte == b'_');
    if word {
        return name.to_owned();
    }
    in_quotes(name)
}

/// A text in quotes, with the escapes that it needs.
pub(super) fn in_quotes(name: &str) -> String {
    let mut out = String::from("\"");
    for character in name.chars() {
        match character {
            '"' => out += "\\\"",
            '\\' => out += "\\\\",
            '\n' => out += "\\n",
            '\t' => out += "\\t",
            control if control.is_control() => out += &format!("\\u{{{:x}}}", u32::from(control)),
            other => out.push(other),
        }
    }
    out.push('"');
    out
}
