//! The fleet file by file: what one file defines can be put in, replaced and taken out.

use super::craft::Craft;
use super::equipment::{Handset, Head, Link, Site};
use super::model::Model;
use super::problem::{Problem, ProblemKind};
use super::read::FileFleet;
use super::resolve::Fleet;
use crate::source::FileId;
use compact_str::CompactString;
use rustc_hash::FxHashMap;
use std::ops::Range;

/// A block at the top level, of any kind.
pub(super) trait Block {
    /// How two of them are called.
    const PLURAL: &'static str;
    fn head(&self) -> &Head;
    fn head_mut(&mut self) -> &mut Head;
}

macro_rules! block {
    ($($kind:ident $plural:literal),*) => {
        $(impl Block for $kind {
            const PLURAL: &'static str = $plural;

            fn head(&self) -> &Head {
                &self.head
            }

            fn head_mut(&mut self) -> &mut Head {
                &mut self.head
            }
        })*
    };
}

block!(Site "places", Link "links", Handset "handsets", Craft "craft", Model "models");

/// Where the first block of each name stands in the list of its kind.
#[derive(Debug, Default)]
pub(super) struct Names {
    by_name: FxHashMap<CompactString, usize>,
    /// The places are no longer right.
    stale: bool,
}

impl Names {
    pub(super) fn get(&self, name: &str) -> Option<usize> {
        self.by_name.get(name).copied()
    }

    pub(super) fn all(&self) -> impl Iterator<Item = &str> {
        self.by_name.keys().map(CompactString::as_str)
    }

    /// Whether no name stands twice in the list.
    fn are_all(&self, list: &[impl Block]) -> bool {
        self.by_name.len() == list.len()
    }

    fn find_again(&mut self, list: &[impl Block]) {
        self.by_name.clear();
        self.by_name.reserve(list.len());
        for (index, block) in list.iter().enumerate() {
            self.by_name.entry(block.head().name.value.clone()).or_insert(index);
        }
        self.stale = false;
    }
}

/// The blocks of one file in a list that is in the order of the files.
pub(super) fn range<T: Block>(list: &[T], file: FileId) -> Range<usize> {
    let start = list.partition_point(|block| block.head().file < file);
    let length = list.get(start..).unwrap_or_default().iter().take_while(|block| block.head().file == file).count();
    start..start + length
}

/// Puts the blocks of one file where those stand that it had before.
fn put<T: Block>(list: &mut Vec<T>, names: &mut Names, file: FileId, new: Vec<T>) {
    let range = range(list, file);
    // A file that has as many blocks as before leaves all others where they are.
    names.stale |= range.len() != new.len() || !names.are_all(list);
    if !names.stale {
        for old in list.get(range.clone()).unwrap_or_default() {
            names.by_name.remove(&old.head().name.value);
        }
        for (block, index) in new.iter().zip(range.clone()) {
            names.stale |= names.by_name.insert(block.head().name.value.clone(), index).is_some();
        }
    }
    list.splice(range, new);
}

fn renumber<T: Block>(list: &mut [T], number: &dyn Fn(FileId) -> FileId) {
    list.iter_mut().map(Block::head_mut).for_each(|head| head.file = number(head.file));
}

/// Says which names stand twice in a list. The first definition counts.
fn twice<T: Block>(list: &[T], names: &Names, problems: &mut Vec<Problem>) {
    if names.are_all(list) {
        return;
    }
    for (index, head) in list.iter().map(Block::head).enumerate() {
        let first = names.get(&head.name.value).filter(|first| *first != index).and_then(|first| list.get(first));
        let Some(first) = first.map(Block::head) else { continue };
        let message = format!("there are two {} called \"{}\"", T::PLURAL, head.name.value);
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

impl Fleet {
    /// Puts files in, in place of what they defined before. What is wrong in them stays with the caller.
    pub fn put(&mut self, files: impl IntoIterator<Item = (FileId, FileFleet)>) {
        let [sites, links, handsets, crafts, models] = &mut self.names;
        for (file, new) in files {
            put(&mut self.sites, sites, file, new.sites);
            put(&mut self.links, links, file, new.links);
            put(&mut self.handsets, handsets, file, new.handsets);
            put(&mut self.crafts, crafts, file, new.crafts);
            put(&mut self.models, models, file, new.models);
        }
        if sites.stale {
            sites.find_again(&self.sites);
        }
        if links.stale {
            links.find_again(&self.links);
        }
        if handsets.stale {
            handsets.find_again(&self.handsets);
        }
        if crafts.stale {
            crafts.find_again(&self.crafts);
        }
        if models.stale {
            models.find_again(&self.models);
        }
    }

    /// Takes files out.
    pub fn remove(&mut self, files: impl IntoIterator<Item = FileId>) {
        self.put(files.into_iter().map(|file| (file, FileFleet::default())));
    }

    /// Gives files other numbers, which must keep their order.
    pub fn renumber(&mut self, number: &dyn Fn(FileId) -> FileId) {
        renumber(&mut self.sites, number);
        renumber(&mut self.links, number);
        renumber(&mut self.handsets, number);
        renumber(&mut self.crafts, number);
        renumber(&mut self.models, number);
    }

    /// Which names are defined twice. The first definition counts.
    pub fn twice(&self) -> Vec<Problem> {
        let mut problems = Vec::new();
        let [sites, links, handsets, crafts, models] = &self.names;
        twice(&self.sites, sites, &mut problems);
        twice(&self.links, links, &mut problems);
        twice(&self.handsets, handsets, &mut problems);
        twice(&self.crafts, crafts, &mut problems);
        twice(&self.models, models, &mut problems);
        problems
    }

    /// The handsets of a file.
    pub fn handsets_of(&self, file: FileId) -> &[Handset] {
        self.handsets.get(range(&self.handsets, file)).unwrap_or_default()
    }

    /// The aircraft of a file.
    pub fn crafts_of(&self, file: FileId) -> &[Craft] {
        self.crafts.get(range(&self.crafts, file)).unwrap_or_default()
    }

    /// The models of a file.
    pub fn models_of(&self, file: FileId) -> &[Model] {
        self.models.get(range(&self.models, file)).unwrap_or_default()
    }

    /// The heads of all blocks of a kind.
    pub fn heads(&self, kind: u8) -> impl Iterator<Item = &Head> {
        fn of<T: Block>(list: &[T], wanted: bool) -> impl Iterator<Item = &Head> {
            list.iter().take(if wanted { list.len() } else { 0 }).map(Block::head)
        }
        let sites = of(&self.sites, kind == Self::SITE).chain(of(&self.links, kind == Self::LINK));
        let equipment = sites.chain(of(&self.handsets, kind == Self::HANDSET));
        equipment.chain(of(&self.crafts, kind == Self::CRAFT)).chain(of(&self.models, kind == Self::MODEL))
    }

    /// The head of the first block of a kind with a name.
    pub fn head(&self, kind: u8, name: &str) -> Option<&Head> {
        Some(match kind {
            Self::SITE => &self.site(name)?.head,
            Self::LINK => &self.link(name)?.head,
            Self::HANDSET => &self.handset(name)?.head,
            Self::CRAFT => &self.craft(name)?.head,
            _ => &self.model(name)?.head,
        })
    }

    /// The heads of all blocks of a file, each with the number of its kind.
    pub fn heads_of(&self, file: FileId) -> impl Iterator<Item = (u8, &Head)> {
        fn heads<T: Block>(list: &[T], file: FileId) -> impl Iterator<Item = &Head> {
            list.get(range(list, file)).unwrap_or_default().iter().map(Block::head)
        }
        let sites = heads(&self.sites, file).map(|head| (Fleet::SITE, head));
        let links = heads(&self.links, file).map(|head| (Fleet::LINK, head));
        let handsets = heads(&self.handsets, file).map(|head| (Fleet::HANDSET, head));
        let crafts = heads(&self.crafts, file).map(|head| (Fleet::CRAFT, head));
        let models = heads(&self.models, file).map(|head| (Fleet::MODEL, head));
        sites.chain(links).chain(handsets).chain(crafts).chain(models)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fleet::{read, table};
    use crate::syntax::{Tables, parse};

    fn file(number: u32, text: &str) -> (FileId, FileFleet) {
        let mut tables = Tables::default();
        let text = format!("rig 1\n{text}");
        parse(text.as_bytes(), table::vocabulary, &mut tables);
        (FileId(number), read(FileId(number), text.as_bytes(), &tables))
    }

    /// The names of all crafts in order, with the file that each name leads to.
    fn crafts(fleet: &Fleet) -> (Vec<&str>, Vec<Option<u32>>) {
        let names: Vec<&str> = fleet.crafts.iter().map(|craft| craft.head.name.value.as_str()).collect();
        let files = names.iter().map(|name| fleet.craft(name).map(|craft| craft.head.file.0)).collect();
        (names, files)
    }

    #[test]
    fn files_come_and_go_in_any_order() {
        let mut fleet = Fleet::default();
        fleet.put([file(2, "craft knot { }"), file(0, "craft ruff { }\ncraft dunlin { }")]);
        assert_eq!(crafts(&fleet), (vec!["ruff", "dunlin", "knot"], vec![Some(0), Some(0), Some(2)]));
        fleet.put([file(1, "craft knot { }")]);
        assert_eq!(crafts(&fleet), (vec!["ruff", "dunlin", "knot", "knot"], vec![Some(0), Some(0), Some(1), Some(1)]));
        assert_eq!(fleet.twice().len(), 1);
        fleet.put([file(1, "craft plover { }")]);
        assert_eq!(
            crafts(&fleet),
            (vec!["ruff", "dunlin", "plover", "knot"], vec![Some(0), Some(0), Some(1), Some(2)])
        );
        fleet.put([file(0, "craft plover { }\ncraft stint { }")]);
        assert_eq!(fleet.twice().len(), 1);
        fleet.remove([FileId(0)]);
        assert_eq!(crafts(&fleet), (vec!["plover", "knot"], vec![Some(1), Some(2)]));
        fleet.renumber(&|file| FileId(file.0 - 1));
        assert_eq!(crafts(&fleet), (vec!["plover", "knot"], vec![Some(0), Some(1)]));
        assert!(fleet.twice().is_empty());
        assert_eq!(fleet.crafts_of(FileId(1)).len(), 1);
        let heads: Vec<_> = fleet.heads_of(FileId(0)).map(|(kind, head)| (kind, head.name.value.as_str())).collect();
        assert_eq!(heads, [(Fleet::CRAFT, "plover")]);
    }

    /// Names that change places within one file, and a block that becomes one of another kind.
    #[test]
    fn names_that_change_places() {
        let mut fleet = Fleet::default();
        fleet.put([file(0, "craft a { }\ncraft b { }\nlink c { }")]);
        fleet.put([file(0, "craft b { }\ncraft a { }\nplace c { }")]);
        let at = |name: &str| fleet.craft(name).map(|craft| craft.head.name.span.start);
        assert!(at("b") < at("a"));
        assert!(fleet.link("c").is_none());
        assert!(fleet.site("c").is_some());
    }
}
