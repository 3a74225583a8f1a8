//! Names over all files: where each is defined and used, and what it is called afterwards.

use super::text::Text;
use crate::fleet::occurs::{Named, Occurrence, Role};
use crate::fleet::{Fleet, quoted};
use crate::inspect::Workspace;
use crate::source::{FileId, Place, Span};
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};
use std::sync::Arc;

/// One thing that has a name. Blocks that are like each other share what stands in them, so that the one that is like none
/// stands for all.
#[derive(Clone, PartialEq, Eq, Hash, Debug)]
struct Thing {
    named: Named,
    /// The block in which the name counts; none for blocks at the top level.
    within: Option<(u8, CompactString)>,
    name: CompactString,
}

/// So many files that hang on one are looked at with it.
const MOST_BEHIND: usize = 40;

/// The names of a text, kept as long as the text is the same.
#[derive(Default)]
pub(super) struct Kept(FxHashMap<String, (Arc<[u8]>, Arc<[Occurrence]>)>);

impl Kept {
    /// The names of every rig text of a folder, by file.
    fn all(&mut self, workspace: &Workspace) -> Vec<Arc<[Occurrence]>> {
        let mut before = std::mem::take(&mut self.0);
        let files = (0..workspace.count() as u32).map(FileId);
        let all = files.zip(workspace.names()).map(|(file, name)| {
            let Some(text) = workspace.text(file).filter(|_| !workspace.is_json(file)) else { return Arc::default() };
            let known = before.remove(name).filter(|(known, _)| Arc::ptr_eq(known, &text) || *known == text);
            let (text, names) = known.unwrap_or_else(|| {
                let names = Text::of(&text).occurrences().into();
                (text, names)
            });
            self.0.insert(name.clone(), (text, Arc::clone(&names)));
            names
        });
        all.collect()
    }
}

/// The names of a folder.
pub(super) struct Names<'w> {
    workspace: &'w Workspace,
    files: Vec<Arc<[Occurrence]>>,
    /// By kind and name of a block the one that it is like.
    like: FxHashMap<(u8, CompactString), CompactString>,
    /// By the first of a family of models all of them.
    families: FxHashMap<CompactString, Vec<CompactString>>,
    /// By aircraft the models that fly it.
    flown: FxHashMap<CompactString, Vec<CompactString>>,
}

/// Where a name stands, and what is done with it there.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub(super) place: Place,
    pub(super) role: Role,
}

impl<'w> Names<'w> {
    /// Those of all rig texts of a folder as they were read.
    pub(super) fn of(workspace: &'w Workspace, kept: &mut Kept) -> Self {
        let files = kept.all(workspace);
        let mut like = FxHashMap::default();
        for found in files.iter().flat_map(|file| file.iter()).filter(|found| found.role == Role::Like) {
            if let Some(owner) = &found.owner {
                like.entry(owner.clone()).or_insert_with(|| found.name.clone());
            }
        }
        let mut names = Self { workspace, files, like, families: FxHashMap::default(), flown: FxHashMap::default() };
        for model in &workspace.fleet().models {
            let name = &model.head.name.value;
            let first = names.first(Fleet::MODEL, name);
            names.families.entry(first).or_default().push(name.clone());
            for craft in &model.flies {
                names.flown.entry(craft.value.clone()).or_default().push(name.clone());
            }
        }
        names
    }

    /// The block at the end of those that a block is like.
    fn first(&self, kind: u8, name: &CompactString) -> CompactString {
        let mut first = name.clone();
        for _ in 0..crate::fleet::like::MAX_CHAIN {
            match self.like.get(&(kind, first.clone())) {
                Some(next) => first = next.clone(),
                None => break,
            }
        }
        first
    }

    /// The models of the family of one.
    fn family(&self, model: &CompactString) -> &[CompactString] {
        self.families.get(&self.first(Fleet::MODEL, model)).map_or(&[], Vec::as_slice)
    }

    /// The models that a name in a block may be about.
    fn models(&self, owner: &(u8, CompactString)) -> Vec<&CompactString> {
        match owner.0 {
            Fleet::MODEL => self.family(&owner.1).iter().collect(),
            Fleet::CRAFT => self.flown.get(&owner.1).into_iter().flatten().collect(),
            _ => Vec::new(),
        }
    }

    /// What a name may be a name of; several where models of one family are flown with several handsets or aircraft.
    fn things(&self, found: &Occurrence) -> Vec<Thing> {
        let thing = |named, within| Thing { named, within, name: found.name.clone() };
        if let Named::Top(_) = found.named {
            return vec![thing(found.named, None)];
        }
        let Some(owner) = &found.owner else { return Vec::new() };
        let fleet = self.workspace.fleet();
        let models = || self.models(owner).into_iter().filter_map(|name| fleet.model(name));
        let within = |kind, name: &CompactString| Some((kind, self.first(kind, name)));
        let own = |named, kind| thing(named, within(kind, &owner.1));
        let of_handsets = |named| {
            let handsets = models().filter_map(|model| model.handset.as_ref());
            handsets.map(|name| thing(named, within(Fleet::HANDSET, &name.value))).collect()
        };
        let of_models = |named| match owner.0 {
            Fleet::MODEL => vec![own(named, Fleet::MODEL)],
            _ => models().map(|model| thing(named, within(Fleet::MODEL, &model.head.name.value))).collect(),
        };
        let mut things: Vec<Thing> = match found.named {
            Named::Control | Named::Bay if owner.0 == Fleet::HANDSET => vec![own(found.named, Fleet::HANDSET)],
            Named::Control | Named::Bay => of_handsets(found.named),
            Named::Condition | Named::Curve | Named::Mix => of_models(found.named),
            Named::InValue if models().any(|model| model.mix(&found.name).is_some()) => of_models(Named::Mix),
            Named::InValue => of_handsets(Named::Control),
            Named::Mode if owner.0 == Fleet::CRAFT => vec![own(Named::Mode, Fleet::CRAFT)],
            Named::Mode => models()
                .flat_map(|model| &model.flies)
                .map(|craft| thing(Named::Mode, within(Fleet::CRAFT, &craft.value)))
                .collect(),
            Named::Top(_) => Vec::new(),
        };
        let mut seen = FxHashSet::default();
        things.retain(|thing| seen.insert(thing.clone()));
        things
    }

    /// A file with all that it hangs on, and some of the files that hang on it, in order.
    pub(super) fn around(&self, file: FileId) -> Vec<FileId> {
        let fleet = self.workspace.fleet();
        let tops = |file: FileId| {
            let names = self.files.get(file.0 as usize).into_iter().flat_map(|names| names.iter());
            names.filter_map(|found| match found.named {
                Named::Top(kind) => Some((kind, &found.name, found.role)),
                _ => None,
            })
        };
        let own: FxHashSet<(u8, &CompactString)> =
            tops(file).filter(|(.., role)| *role == Role::Defined).map(|(kind, name, _)| (kind, name)).collect();
        let hangs = |other: &FileId| {
            tops(*other).any(|(kind, name, role)| role != Role::Defined && own.contains(&(kind, name)))
        };
        let all = (0..self.files.len() as u32).map(FileId);
        let mut open: Vec<FileId> = all.filter(|other| *other != file && hangs(other)).take(MOST_BEHIND).collect();
        open.push(file);
        let mut known: FxHashSet<FileId> = open.iter().copied().collect();
        while let Some(next) = open.pop() {
            for (kind, name, _) in tops(next) {
                let defined = fleet.head(kind, name).map(|head| head.file);
                open.extend(defined.filter(|file| known.insert(*file)));
            }
        }
        let mut known: Vec<FileId> = known.into_iter().collect();
        known.sort_unstable();
        known
    }

    /// The name that a byte touches.
    pub(super) fn at(&self, file: FileId, byte: u32) -> Option<&Occurrence> {
        let names = self.files.get(file.0 as usize)?;
        names.iter().find(|found| found.span.start <= byte && byte <= found.span.end)
    }

    /// All places of what a name is a name of, in the order of files and places.
    pub(super) fn all(&self, of: &Occurrence) -> Vec<Found> {
        let mut wanted: FxHashSet<Thing> = self.things(of).into_iter().collect();
        let named: Vec<(FileId, &Occurrence, Vec<Thing>)> = (0..)
            .map(FileId)
            .zip(&self.files)
            .flat_map(|(file, names)| names.iter().map(move |found| (file, found)))
            .filter(|(_, found)| found.name == of.name)
            .map(|(file, found)| (file, found, self.things(found)))
            .collect();
        // One name may be about two handsets, whose other names then belong to it too.
        loop {
            let count = wanted.len();
            for (_, _, things) in &named {
                if things.iter().any(|thing| wanted.contains(thing)) {
                    wanted.extend(things.iter().cloned());
                }
            }
            if wanted.len() == count {
                break;
            }
        }
        let found = named.into_iter().filter(|(_, _, things)| things.iter().any(|thing| wanted.contains(thing)));
        found.map(|(file, found, _)| Found { place: Place::new(file, found.span), role: found.role }).collect()
    }

    /// The blocks at the top level whose names hold a text, whatever the case of its letters: kind, name, place.
    pub(super) fn search(&self, query: &str) -> Vec<(u8, &CompactString, Place)> {
        let query = query.to_lowercase();
        let all =
            (0..).map(FileId).zip(&self.files).flat_map(|(file, names)| names.iter().map(move |found| (file, found)));
        let defined = all.filter_map(|(file, found)| match (found.named, found.role) {
            (Named::Top(kind), Role::Defined) => Some((kind, &found.name, Place::new(file, found.span))),
            _ => None,
        });
        defined.filter(|(_, name, _)| name.to_lowercase().contains(&query)).collect()
    }
}

/// The edits that give a name to all of these places, by file, each from the front; the texts that come out.
pub(super) fn renamed(
    workspace: &Workspace,
    places: &[Found],
    name: &str,
) -> Vec<(FileId, Vec<(Span, String)>, Vec<u8>)> {
    let written = quoted(name);
    let mut all: Vec<(FileId, Vec<(Span, String)>, Vec<u8>)> = Vec::new();
    for found in places {
        let file = found.place.file;
        if all.last().is_none_or(|(known, ..)| *known != file) {
            let text = workspace.text(file).map(|text| text.to_vec()).unwrap_or_default();
            all.push((file, Vec::new(), text));
        }
        if let Some((_, edits, _)) = all.last_mut() {
            edits.push((found.place.span, written.clone()));
        }
    }
    for (_, edits, text) in &mut all {
        edits.sort_by_key(|(span, _)| *span);
        for (span, _) in edits.iter().rev() {
            if text.get(span.range()).is_some() {
                text.splice(span.range(), written.bytes());
            }
        }
    }
    all
}
