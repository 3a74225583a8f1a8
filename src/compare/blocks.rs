//! Which block of one side is which of the other, and the statements that came, went or say something else.

use super::What;
use super::statements::{self, Renames, Stated};
use crate::fleet::Fleet;
use crate::fleet::equipment::Head;
use crate::fleet::occurs::Named;
use crate::inspect::Workspace;
use crate::setup::Setup;
use rustc_hash::{FxHashMap, FxHashSet};
use std::cell::RefCell;

/// A block on both sides, or on one.
pub(super) struct Matched {
    pub(super) old: Option<String>,
    pub(super) new: Option<String>,
    /// It has another name now, and does not say quite the same.
    pub(super) is_guess: bool,
}

impl Matched {
    /// Its name now, or before where it is gone.
    pub(super) fn name(&self) -> &str {
        self.new.as_deref().or(self.old.as_deref()).unwrap_or_default()
    }

    /// Its name before, where it is guessed that it is the same.
    pub(super) fn before(&self) -> Option<String> {
        self.old.clone().filter(|_| self.is_guess)
    }
}

/// The blocks of both sides.
pub(super) struct Blocks<'w> {
    old: &'w Workspace,
    new: &'w Workspace,
    matched: Vec<(u8, Vec<Matched>)>,
    /// Names of blocks that are others now.
    renames: Renames,
    /// By kind and both names, whether two blocks are written in the same words.
    alike: RefCell<FxHashMap<(u8, String, String), bool>>,
}

/// The kinds in an order in which a block names only kinds before its own.
const KINDS: [u8; 5] = [Fleet::SITE, Fleet::LINK, Fleet::HANDSET, Fleet::CRAFT, Fleet::MODEL];

impl<'w> Blocks<'w> {
    /// Matches blocks by their names, and those that only one side has by what they say.
    pub(super) fn of(old: &'w Workspace, new: &'w Workspace) -> Self {
        let mut blocks = Self { old, new, matched: Vec::new(), renames: Renames::default(), alike: RefCell::default() };
        for kind in KINDS {
            let (before, now) = (names(old.fleet(), kind), names(new.fleet(), kind));
            let (was, is_now): (FxHashSet<&String>, FxHashSet<&String>) =
                (before.iter().collect(), now.iter().collect());
            let gone: Vec<&String> = before.iter().filter(|name| !is_now.contains(name)).collect();
            let come: Vec<&String> = now.iter().filter(|name| !was.contains(name)).collect();
            let pairs = pairs(
                &gone.iter().map(|name| means(old, kind, name, &blocks.renames)).collect::<Vec<_>>(),
                &come.iter().map(|name| means(new, kind, name, &Renames::default())).collect::<Vec<_>>(),
            );
            let both = before.iter().filter(|name| is_now.contains(name));
            let mut matched: Vec<Matched> = both
                .map(|name| Matched { old: Some(name.clone()), new: Some(name.clone()), is_guess: false })
                .collect();
            for &(at, other, is_guess) in &pairs {
                let (Some(name), Some(other)) = (gone.get(at), come.get(other)) else { continue };
                blocks.renames.add(Named::Top(kind), name, other);
                matched.push(Matched { old: Some((*name).clone()), new: Some((*other).clone()), is_guess });
            }
            let left = (0..).zip(&gone).filter(|(at, _)| pairs.iter().all(|(old, ..)| old != at));
            matched.extend(left.map(|(_, name)| Matched { old: Some((*name).clone()), new: None, is_guess: false }));
            let left = (0..).zip(&come).filter(|(at, _)| pairs.iter().all(|(_, new, _)| new != at));
            matched.extend(left.map(|(_, name)| Matched { old: None, new: Some((*name).clone()), is_guess: false }));
            blocks.matched.push((kind, matched));
        }
        blocks
    }

    pub(super) fn of_kind(&self, kind: u8) -> &[Matched] {
        self.matched.iter().find(|(known, _)| *known == kind).map_or(&[], |(_, matched)| matched)
    }

    /// Names of blocks that are others now.
    pub(super) fn renames(&self) -> &Renames {
        &self.renames
    }

    /// The name that an old block has now.
    pub(super) fn now(&self, kind: u8, old: &str) -> String {
        let matched = self.of_kind(kind).iter().find(|matched| matched.old.as_deref() == Some(old));
        matched.map_or(old, Matched::name).to_owned()
    }

    /// The conditions that the statements of a model beside its channels name.
    pub(super) fn mentioned(&self, model: &str) -> FxHashSet<String> {
        let all = statements::of(self.new, Fleet::MODEL, model, &Renames::default()).unwrap_or_default();
        all.into_iter().filter(|stated| !stated.is_signal).flat_map(|stated| stated.conditions).collect()
    }

    /// Whether a block is written in the same words on both sides.
    pub(super) fn is_alike(&self, kind: u8, old: &str, new: &str) -> bool {
        let key = (kind, old.to_owned(), new.to_owned());
        if let Some(known) = self.alike.borrow().get(&key) {
            return *known;
        }
        let of = |workspace, name| statements::of(workspace, kind, name, &Renames::default());
        let is_text =
            || self.old.spelled_out(kind, old).is_some_and(|text| Some(text) == self.new.spelled_out(kind, new));
        let alike = is_text() || {
            let (one, other) = (of(self.old, old), of(self.new, new));
            one.is_some() && one == other
        };
        self.alike.borrow_mut().insert(key, alike);
        alike
    }

    /// Whether everything that the signal path of a model and an aircraft hangs on is written in the same words on both sides.
    pub(super) fn are_written_alike(&self, before: &Setup<'_>, now: &Setup<'_>) -> bool {
        let both = |kind, one: Option<&Head>, other: Option<&Head>| match (one, other) {
            (Some(one), Some(other)) => self.is_alike(kind, &one.name.value, &other.name.value),
            (one, other) => one.is_none() && other.is_none(),
        };
        let links = |setup: &Setup<'_>| setup.paths().count();
        let same_links = before
            .paths()
            .zip(now.paths())
            .all(|(one, other)| both(Fleet::LINK, one.link.map(|link| &link.head), other.link.map(|link| &link.head)));
        both(Fleet::HANDSET, before.handset.map(|it| &it.head), now.handset.map(|it| &it.head))
            && links(before) == links(now)
            && same_links
            && both(Fleet::CRAFT, Some(&before.craft.head), Some(&now.craft.head))
            && both(Fleet::MODEL, Some(&before.model.head), Some(&now.model.head))
    }

    /// The statements of a block that are others now; those that the signal path compares are left out unless `all` are asked for.
    pub(super) fn changed(&self, kind: u8, old: &str, new: &str, renamed: &Renames, all: bool) -> Vec<What> {
        if self.renames.is_empty() && renamed.is_empty() && self.is_alike(kind, old, new) {
            return Vec::new();
        }
        let mut renames = self.renames.clone();
        renames.add_all(renamed);
        let before = statements::of(self.old, kind, old, &renames);
        let after = statements::of(self.new, kind, new, &Renames::default());
        let (Some(before), Some(after)) = (before, after) else {
            let is_same = self.old.spelled_out(kind, old) == self.new.spelled_out(kind, new);
            return if is_same { Vec::new() } else { vec![What::NotReadable] };
        };
        let counts = |stated: &Stated| all || !stated.is_signal;
        let mut gone: Vec<Stated> = before.into_iter().filter(counts).collect();
        let mut come: Vec<Stated> = after.into_iter().filter(counts).collect();
        // What stands on both sides as often.
        gone.retain(|one| match come.iter().position(|other| other.means == one.means) {
            Some(at) => {
                come.remove(at);
                false
            }
            None => true,
        });
        grouped(&gone, &come)
    }
}

/// What went and what came, told together where it stands in the same statement of the block.
fn grouped(gone: &[Stated], come: &[Stated]) -> Vec<What> {
    let mut tops: Vec<&str> = gone.iter().chain(come).map(Stated::outermost).collect();
    let mut seen = FxHashSet::default();
    tops.retain(|top| seen.insert(*top));
    let of = |all: &'_ [Stated], top: &str| -> Vec<Stated> {
        all.iter().filter(|stated| stated.outermost() == top).cloned().collect()
    };
    let mut told: Vec<(&str, Vec<Stated>, Vec<Stated>)> =
        tops.into_iter().map(|top| (top, of(gone, top), of(come, top))).collect();
    drop_renamed(&mut told);
    told.into_iter().filter_map(|(top, old, new)| statement(top, old, new)).collect()
}

/// A receiver that has a name now, or another one, is the same receiver.
fn drop_renamed(told: &mut Vec<(&str, Vec<Stated>, Vec<Stated>)>) {
    let inner = |all: &[Stated]| -> Vec<Vec<String>> {
        let mut inner: Vec<Vec<String>> =
            all.iter().filter_map(|stated| Some(stated.says.get(1..)?.to_vec())).filter(|it| !it.is_empty()).collect();
        inner.sort();
        inner
    };
    let is_receiver = |top: &str| top.split(' ').next() == Some("receiver");
    let mut at = 0;
    while let Some((top, old, new)) = told.get(at) {
        let other = (is_receiver(top) && !old.is_empty() && new.is_empty()).then(|| {
            let is = |(top, gone, come): &(&str, Vec<Stated>, Vec<Stated>)| {
                is_receiver(top) && gone.is_empty() && inner(come) == inner(old)
            };
            told.iter().position(is)
        });
        match other.flatten() {
            Some(other) => {
                told.remove(at.max(other));
                told.remove(at.min(other));
                at = 0;
            }
            None => at += 1,
        }
    }
}

/// Statements that are told together, in the one that they stand in.
fn statement(top: &str, mut old: Vec<Stated>, mut new: Vec<Stated>) -> Option<What> {
    // What only stands in a statement that says something else is told with that.
    let is_same = |one: &Stated, other: &Stated| {
        one.about.len() > 1 && one.about == other.about && one.says.get(1..) == other.says.get(1..)
    };
    let was = old.clone();
    old.retain(|one| !new.iter().any(|other| is_same(one, other)));
    new.retain(|one| !was.iter().any(|other| is_same(one, other)));
    let is_inner = old.iter().chain(&new).any(|stated| stated.about.len() > 1);
    let within = if is_inner { top.to_owned() } else { String::new() };
    let (old, new) = (shown(&old, &within), shown(&new, &within));
    (!old.is_empty() || !new.is_empty()).then(|| What::Statement { about: top.to_owned(), within, old, new })
}

/// Statements as they are written, without the one around them all; what stands in one more is told in it.
fn shown(all: &[Stated], within: &str) -> Vec<String> {
    let mut shown: Vec<(Vec<String>, Vec<String>)> = Vec::new();
    for stated in all {
        let Some((own, around)) = stated.shown.split_last() else { continue };
        let around = around.get(1..).unwrap_or_default();
        match shown.iter_mut().find(|(known, _)| !around.is_empty() && known == around) {
            Some((_, inner)) => inner.push(own.clone()),
            None => shown.push((around.to_vec(), vec![own.clone()])),
        }
    }
    let text = |(around, inner): &(Vec<String>, Vec<String>)| match around.is_empty() {
        true => inner.join("; "),
        false => format!("{} {{ {} }}", around.join(" { "), inner.join("; ")),
    };
    let mut shown: Vec<String> = shown.iter().map(text).collect();
    // The header goes without saying where what stands in it is told, with and without its block.
    let blocks: Vec<String> = shown.iter().filter_map(|it| Some(it.split_once(" { ")?.0.to_owned())).collect();
    shown.retain(|text| *text != within && !blocks.contains(text));
    shown
}

/// More pairs of blocks than this are not held against each other one by one.
const MOST_PAIRS: usize = 10_000;

/// Which of the blocks that are gone are which of those that came, and whether that is a guess: those that say the same first,
/// then those that say more than half of it.
fn pairs(gone: &[Option<Vec<String>>], come: &[Option<Vec<String>>]) -> Vec<(usize, usize, bool)> {
    let mut pairs: Vec<(usize, usize, bool)> = Vec::new();
    let mut same: FxHashMap<&Vec<String>, Vec<usize>> = FxHashMap::default();
    for (other, means) in come.iter().enumerate().rev() {
        means.iter().for_each(|means| same.entry(means).or_default().push(other));
    }
    for (at, means) in gone.iter().enumerate() {
        let other = means.as_ref().and_then(|means| same.get_mut(means)?.pop());
        pairs.extend(other.map(|other| (at, other, false)));
    }
    let left: Vec<usize> = (0..gone.len()).filter(|at| pairs.iter().all(|(old, ..)| old != at)).collect();
    let free: Vec<usize> = (0..come.len()).filter(|at| pairs.iter().all(|(_, new, _)| new != at)).collect();
    if left.len() * free.len() > MOST_PAIRS {
        return pairs;
    }
    let mut near: Vec<(usize, usize, usize)> = Vec::new();
    for &at in &left {
        for &other in &free {
            let (Some(Some(one)), Some(Some(two))) = (gone.get(at), come.get(other)) else { continue };
            let common = one.iter().filter(|means| two.binary_search(means).is_ok()).count();
            if 2 * common > one.len().max(two.len()) {
                near.push((common, at, other));
            }
        }
    }
    near.sort_by_key(|&(common, at, other)| (std::cmp::Reverse(common), at, other));
    for (_, at, other) in near {
        if pairs.iter().all(|(old, new, _)| *old != at && *new != other) {
            pairs.push((at, other, true));
        }
    }
    pairs
}

fn names(fleet: &Fleet, kind: u8) -> Vec<String> {
    let mut seen: FxHashSet<&str> = FxHashSet::default();
    let heads: Vec<&Head> = match kind {
        Fleet::SITE => fleet.sites.iter().map(|it| &it.head).collect(),
        Fleet::LINK => fleet.links.iter().map(|it| &it.head).collect(),
        Fleet::HANDSET => fleet.handsets.iter().map(|it| &it.head).collect(),
        Fleet::CRAFT => fleet.crafts.iter().map(|it| &it.head).collect(),
        _ => fleet.models.iter().map(|it| &it.head).collect(),
    };
    let names = heads.into_iter().map(|head| head.name.value.as_str()).filter(|name| seen.insert(name));
    names.map(str::to_owned).collect()
}

/// What a block means as a whole, in an order of its own.
fn means(workspace: &Workspace, kind: u8, name: &str, renames: &Renames) -> Option<Vec<String>> {
    let all = statements::of(workspace, kind, name, renames)?;
    let mut means: Vec<String> = all.into_iter().map(|stated| stated.means).collect();
    means.sort();
    Some(means)
}
