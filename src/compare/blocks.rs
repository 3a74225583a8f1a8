//! Which block of one side is which of the other, and the statements that came, went or say something else.

use super::What;
use super::statements::{self, Renames, Stated};
use crate::fleet::Fleet;
use crate::fleet::equipment::Head;
use crate::inspect::Workspace;
use crate::setup::Setup;
use rustc_hash::{FxHashMap, FxHashSet};

/// A block on both sides, or on one.
pub(super) struct Matched {
    pub(super) old: Option<String>,
    pub(super) new: Option<String>,
}

impl Matched {
    /// Its name now, or before where it is gone.
    pub(super) fn name(&self) -> &str {
        self.new.as_deref().or(self.old.as_deref()).unwrap_or_default()
    }
}

/// The blocks of both sides.
pub(super) struct Blocks {
    matched: Vec<(u8, Vec<Matched>)>,
    /// Names of blocks that are others now, of all kinds.
    renames: Renames,
}

/// The kinds in an order in which a block names only kinds before its own.
const KINDS: [u8; 5] = [Fleet::SITE, Fleet::LINK, Fleet::HANDSET, Fleet::CRAFT, Fleet::MODEL];

impl Blocks {
    /// Matches blocks by their names, and those that only one side has by what they say.
    pub(super) fn of(old: &Workspace, new: &Workspace) -> Self {
        let mut blocks = Self { matched: Vec::new(), renames: Renames::default() };
        for kind in KINDS {
            let (before, now) = (names(old.fleet(), kind), names(new.fleet(), kind));
            let is_now: FxHashSet<&str> = now.iter().map(String::as_str).collect();
            let was: FxHashSet<&str> = before.iter().map(String::as_str).collect();
            let mut free: Vec<&String> = now.iter().filter(|name| !was.contains(name.as_str())).collect();
            let mut matched = Vec::new();
            for name in &before {
                if is_now.contains(name.as_str()) {
                    matched.push(Matched { old: Some(name.clone()), new: Some(name.clone()) });
                    continue;
                }
                let means = means(old, kind, name, &blocks.renames);
                let alike =
                    |other: &&String| means.is_some() && self::means(new, kind, other, &Renames::default()) == means;
                let other = free.iter().position(alike).map(|at| free.swap_remove(at).clone());
                if let Some(other) = &other {
                    blocks.renames.insert(name.clone(), other.clone());
                }
                matched.push(Matched { old: Some(name.clone()), new: other });
            }
            free.sort();
            matched.extend(free.into_iter().map(|name| Matched { old: None, new: Some(name.clone()) }));
            blocks.matched.push((kind, matched));
        }
        blocks
    }

    pub(super) fn of_kind(&self, kind: u8) -> &[Matched] {
        self.matched.iter().find(|(known, _)| *known == kind).map_or(&[], |(_, matched)| matched)
    }

    /// The name that an old block has now.
    pub(super) fn now(&self, kind: u8, old: &str) -> String {
        let matched = self.of_kind(kind).iter().find(|matched| matched.old.as_deref() == Some(old));
        matched.map_or(old, Matched::name).to_owned()
    }

    /// Whether an old block is this one.
    pub(super) fn is_now(&self, kind: u8, old: &str, new: &str) -> bool {
        let mut same = self.of_kind(kind).iter().filter(|matched| matched.old.as_deref() == Some(old));
        same.any(|matched| matched.new.as_deref() == Some(new))
    }

    /// The words that the statements of a model beside its channels hold.
    pub(super) fn mentioned(&self, workspace: &Workspace, model: &str) -> FxHashSet<String> {
        let all = statements::of(workspace, Fleet::MODEL, model, &Renames::default()).unwrap_or_default();
        all.into_iter().filter(|stated| !stated.is_signal).flat_map(|stated| stated.words).collect()
    }

    /// Whether everything that the signal path of a model and an aircraft hangs on is written in the same words on both sides.
    pub(super) fn are_written_alike(
        &self,
        old: &Workspace,
        new: &Workspace,
        before: &Setup<'_>,
        now: &Setup<'_>,
    ) -> bool {
        let alike = |kind: u8, one: &Head, other: &Head| {
            let text = |workspace: &Workspace, head: &Head| {
                statements::of(workspace, kind, &head.name.value, &Renames::default())
            };
            let (one, other) = (text(old, one), text(new, other));
            one.is_some() && one == other
        };
        let handsets = match (before.handset, now.handset) {
            (Some(one), Some(other)) => alike(Fleet::HANDSET, &one.head, &other.head),
            (one, other) => one.is_none() && other.is_none(),
        };
        let links = |setup: &Setup<'_>| setup.paths().map(|path| path.link).collect::<Vec<_>>().len();
        let link_pairs = || before.paths().zip(now.paths());
        let same_links = link_pairs().all(|(one, other)| match (one.link, other.link) {
            (Some(one), Some(other)) => alike(Fleet::LINK, &one.head, &other.head),
            (one, other) => one.is_none() && other.is_none(),
        });
        handsets
            && links(before) == links(now)
            && same_links
            && alike(Fleet::CRAFT, &before.craft.head, &now.craft.head)
            && alike(Fleet::MODEL, &before.model.head, &now.model.head)
    }

    /// The statements of a block that are others now, apart from those that the signal path compares.
    pub(super) fn changed(
        &self,
        old: &Workspace,
        new: &Workspace,
        kind: u8,
        name: &str,
        now: &str,
        renamed: &[(String, String)],
    ) -> Vec<What> {
        let mut renames = self.renames.clone();
        renames.extend(renamed.iter().cloned());
        let whole = |workspace, name: &str, renames: &Renames| statements::of(workspace, kind, name, renames);
        let (before, after) = (whole(old, name, &renames), whole(new, now, &Renames::default()));
        let (Some(before), Some(after)) = (before, after) else {
            return match before_and_after(old, new, kind, name, now) {
                true => Vec::new(),
                false => vec![What::Statement {
                    about: "the whole block".to_owned(),
                    old: Vec::new(),
                    new: vec!["one side can't be put together".to_owned()],
                }],
            };
        };
        let (mut gone, mut come) = (beside(before), beside(after));
        // What stands on both sides as often.
        gone.retain(|one| match come.iter().position(|other| other.means == one.means) {
            Some(at) => {
                come.remove(at);
                false
            }
            None => true,
        });
        let mut by_about: Vec<(String, Vec<String>, Vec<String>)> = Vec::new();
        let mut note = |stated: Stated, is_new: bool| {
            let at = by_about.iter().position(|(about, ..)| *about == stated.about).unwrap_or_else(|| {
                by_about.push((stated.about.clone(), Vec::new(), Vec::new()));
                by_about.len() - 1
            });
            if let Some((_, old, new)) = by_about.get_mut(at) {
                if is_new { new.push(stated.shown) } else { old.push(stated.shown) }
            }
        };
        gone.into_iter().for_each(|stated| note(stated, false));
        come.into_iter().for_each(|stated| note(stated, true));
        by_about.into_iter().map(|(about, old, new)| What::Statement { about, old, new }).collect()
    }
}

/// The statements that the signal path does not compare, in an order of their own.
fn beside(all: Vec<Stated>) -> Vec<Stated> {
    let mut beside: Vec<Stated> = all.into_iter().filter(|stated| !stated.is_signal).collect();
    beside.sort();
    beside
}

/// Whether a block can't be put together on either side, and its text is the same.
fn before_and_after(old: &Workspace, new: &Workspace, kind: u8, name: &str, now: &str) -> bool {
    old.spelled_out(kind, name) == new.spelled_out(kind, now)
}

fn names(fleet: &Fleet, kind: u8) -> Vec<String> {
    let mut seen: FxHashMap<&str, ()> = FxHashMap::default();
    let heads: Vec<&Head> = match kind {
        Fleet::SITE => fleet.sites.iter().map(|it| &it.head).collect(),
        Fleet::LINK => fleet.links.iter().map(|it| &it.head).collect(),
        Fleet::HANDSET => fleet.handsets.iter().map(|it| &it.head).collect(),
        Fleet::CRAFT => fleet.crafts.iter().map(|it| &it.head).collect(),
        _ => fleet.models.iter().map(|it| &it.head).collect(),
    };
    let names = heads.into_iter().map(|head| head.name.value.as_str()).filter(|name| seen.insert(name, ()).is_none());
    names.map(str::to_owned).collect()
}

/// What a block means as a whole, in an order of its own.
fn means(workspace: &Workspace, kind: u8, name: &str, renames: &Renames) -> Option<Vec<String>> {
    let all = statements::of(workspace, kind, name, renames)?;
    let mut means: Vec<String> = all.into_iter().map(|stated| stated.means).collect();
    means.sort();
    Some(means)
}
