//! Names over all files: what is defined twice, what is not defined, what feeds itself.

use super::condition::{ConditionKind, Name};
use super::craft::{Craft, ReceiverNumber};
use super::equipment::{Handset, Head, Link, Lost, Site};
use super::files::Names;
use super::model::Model;
use super::problem::{Problem, ProblemKind, nearest};
use super::read::FileFleet;
use super::scope::Scope;
use super::table::Block;
use super::unknown::Problems;
use crate::source::{FileId, Located, Place};
use rustc_hash::FxHashSet;

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
    pub(super) names: [Names; 5],
}

impl Fleet {
    /// The kinds of blocks that names are looked up for, as [`Fleet::heads_of`] numbers them.
    pub const SITE: u8 = 0;
    /// Links.
    pub const LINK: u8 = 1;
    /// Handsets.
    pub const HANDSET: u8 = 2;
    /// Aircraft.
    pub const CRAFT: u8 = 3;
    /// Models.
    pub const MODEL: u8 = 4;

    /// The word that a kind of blocks begins with.
    pub const fn word(kind: u8) -> &'static str {
        match kind {
            Self::SITE => "place",
            Self::LINK => "link",
            Self::HANDSET => "handset",
            Self::CRAFT => "craft",
            _ => "model",
        }
    }

    /// Puts files together, each with its number, and gives what is wrong in them and which names are defined twice.
    pub fn gather(files: impl IntoIterator<Item = (FileId, FileFleet)>) -> (Self, Vec<Problem>) {
        let (mut fleet, mut problems) = (Self::default(), Vec::new());
        let mut unread = false;
        fleet.put(files.into_iter().map(|(file, mut new)| {
            problems.append(&mut new.problems);
            unread |= new.unread;
            (file, new)
        }));
        fleet.unread = unread;
        problems.extend(fleet.twice());
        (fleet, problems)
    }

    fn index(&self, kind: u8, name: &str) -> Option<usize> {
        self.names.get(usize::from(kind))?.get(name)
    }

    /// The place with a name.
    pub fn site(&self, name: &str) -> Option<&Site> {
        self.sites.get(self.index(Self::SITE, name)?)
    }

    /// The link with a name.
    pub fn link(&self, name: &str) -> Option<&Link> {
        self.links.get(self.index(Self::LINK, name)?)
    }

    /// The handset with a name.
    pub fn handset(&self, name: &str) -> Option<&Handset> {
        self.handsets.get(self.index(Self::HANDSET, name)?)
    }

    /// The craft with a name.
    pub fn craft(&self, name: &str) -> Option<&Craft> {
        self.crafts.get(self.index(Self::CRAFT, name)?)
    }

    /// The model with a name.
    pub fn model(&self, name: &str) -> Option<&Model> {
        self.models.get(self.index(Self::MODEL, name)?)
    }

    /// What a handset, craft or model names and nobody defines, and what feeds itself.
    pub fn check(&self) -> Vec<Problem> {
        self.check_some(&|_| true)
    }

    /// The same for those that are `wanted`, in the order of all; and which blocks are like one that nobody defines.
    pub fn check_some(&self, wanted: &dyn Fn(&Head) -> bool) -> Vec<Problem> {
        let mut problems = Problems::default();
        for kind in [Self::SITE, Self::LINK, Self::HANDSET, Self::CRAFT, Self::MODEL] {
            for (head, like) in self.heads(kind).filter_map(|head| Some((head, head.like.as_deref()?))) {
                self.defined(kind, Self::word(kind), like, head, &mut problems);
            }
        }
        for handset in self.handsets.iter().filter(|handset| wanted(&handset.head)) {
            self.check_handset(handset, &mut problems);
        }
        for craft in self.crafts.iter().filter(|craft| wanted(&craft.head)) {
            self.check_craft(craft, &mut problems);
        }
        for model in self.models.iter().filter(|model| wanted(&model.head)) {
            self.check_model(model, &mut problems);
        }
        problems.list
    }

    /// Whether [`Fleet::check`] has nothing to say about a handset.
    pub fn is_sound_handset(&self, handset: &Handset) -> bool {
        let mut problems = Problems::without_guesses();
        self.check_handset(handset, &mut problems);
        problems.list.is_empty()
    }

    /// The same of an aircraft.
    pub fn is_sound_craft(&self, craft: &Craft) -> bool {
        let mut problems = Problems::without_guesses();
        self.check_craft(craft, &mut problems);
        problems.list.is_empty()
    }

    /// The same of a model.
    pub fn is_sound_model(&self, model: &Model) -> bool {
        let mut problems = Problems::without_guesses();
        self.check_model(model, &mut problems);
        problems.list.is_empty()
    }

    /// The names of a kind in their own order: that in which they are kept hangs on the machine.
    fn known(&self, kind: u8) -> impl Iterator<Item = &str> {
        let sorted = move || {
            let mut all: Vec<&str> = self.names.get(usize::from(kind)).into_iter().flat_map(Names::all).collect();
            all.sort_unstable();
            all
        };
        std::iter::once_with(sorted).flatten()
    }

    fn defined(&self, kind: u8, what: &str, name: &Name, head: &Head, problems: &mut Problems) -> bool {
        let found = self.index(kind, &name.value).is_some();
        if !found && !self.unread {
            problems.unknown(head.place(name.span), what, name, self.known(kind));
        }
        found
    }

    fn check_handset(&self, handset: &Handset, problems: &mut Problems) {
        for link in handset.modules.iter().filter_map(|module| module.link.as_ref()) {
            self.defined(Self::LINK, "link", link, &handset.head, problems);
        }
    }

    fn check_craft(&self, craft: &Craft, problems: &mut Problems) {
        if let Some(site) = &craft.flown_at {
            self.defined(Self::SITE, "place", site, &craft.head, problems);
        }
        for receiver in &craft.receivers {
            let Some(name) = &receiver.link else { continue };
            if !self.defined(Self::LINK, "link", name, &craft.head, problems) {
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
                let lost = may_be_lost_mode(craft, &excluded.value);
                if !lost && controller.mode(&excluded.value).is_none() {
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
        let lost = crafts.iter().any(|craft| may_be_lost_mode(craft, &name.value));
        if !lost && !modes().any(|mode| mode.name.value == name.value) {
            problems.unknown(head.place(name.span), "mode", name, modes().map(|mode| mode.name.value.as_str()));
        }
    }

    fn check_model(&self, model: &Model, problems: &mut Problems) {
        for name in &model.flies {
            self.defined(Self::CRAFT, "craft", name, &model.head, problems);
        }
        if let Some(name) = &model.handset {
            self.defined(Self::HANDSET, "handset", name, &model.head, problems);
        }
        if let Some(pupil) = model.trainer.as_ref().and_then(|trainer| trainer.from.as_ref()) {
            self.defined(Self::MODEL, "model", pupil, &model.head, problems);
        }
        let crafts: Vec<&Craft> = model.flies.iter().filter_map(|name| self.craft(&name.value)).collect();
        super::cycles::check(model, &crafts, problems);
        if let Some(handset) = model.handset.as_ref().and_then(|name| self.handset(&name.value)) {
            let mut scope = Scope { fleet: self, model, handset, crafts: &crafts, problems };
            scope.check();
        }
    }
}

/// Whether a mode that no aircraft has may be one whose line could not be understood.
fn may_be_lost_mode(craft: &Craft, name: &str) -> bool {
    let is_mode = |lost: &&Lost| lost.block == Block::Controller && matches!(lost.word, "" | "mode");
    craft.head.lost.iter().filter(is_mode).any(|lost| lost.key.as_ref().is_none_or(|known| known == name))
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

/// The words for a name that is not there, with those that are, each once and in their order, and with the nearest.
pub fn no_such<'n>(what: &str, unknown: &str, names: impl Iterator<Item = &'n str>) -> String {
    const SHOWN: usize = 12;
    let mut met = FxHashSet::default();
    let names: Vec<&str> = names.filter(|name| met.insert(*name)).collect();
    let shown = names.iter().take(SHOWN).map(|name| quoted(name)).collect::<Vec<_>>().join(", ");
    let near = nearest(unknown, names.iter().copied());
    let near = near.map_or_else(String::new, |near| format!("; did you mean \"{near}\"?"));
    match names.len().saturating_sub(SHOWN) {
        _ if names.is_empty() => format!("no {what} is called \"{unknown}\": none is described here"),
        0 => format!("no {what} is called \"{unknown}\"; there are {shown}{near}"),
        more => format!("no {what} is called \"{unknown}\"; there are {shown} and {more} more{near}"),
    }
}

/// A text in quotes, with the escapes that it needs.
pub fn in_quotes(name: &str) -> String {
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
