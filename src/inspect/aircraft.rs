//! What is kept of each aircraft, over everything that was asked about it.

use super::Workspace;
use crate::findings::coverage::{Coverage, Row};
use crate::source::FileId;
use compact_str::CompactString;
use rustc_hash::{FxHashMap, FxHashSet};
use std::collections::BTreeMap;
use std::mem;
use std::sync::Arc;

/// The aircraft of the fleet by name. One of which nothing was asked again stays as it is.
#[derive(Debug, Default)]
pub(super) struct Aircraft {
    known: BTreeMap<CompactString, Known>,
    /// Those about which something was forgotten or asked since.
    open: FxHashSet<CompactString>,
    all_open: bool,
    /// The files in which something was asked about each, and perhaps others.
    files: FxHashMap<CompactString, FxHashSet<FileId>>,
}

/// One of them.
#[derive(Debug, Default)]
pub(super) struct Known {
    /// How the rules ended that were asked about it; its places are in the files as they were given.
    row: Arc<Row>,
    /// Whether some model flies it.
    pub(super) flown: bool,
    /// Whether a model that flies it sends, or is one for a simulator.
    pub(super) sent: bool,
}

impl Aircraft {
    /// Something about these is another.
    pub(super) fn open<'n>(&mut self, names: impl IntoIterator<Item = &'n CompactString>) {
        self.open.extend(names.into_iter().cloned());
    }

    /// Something was asked about these in a file.
    pub(super) fn asked<'n>(&mut self, file: FileId, names: impl IntoIterator<Item = &'n CompactString>) {
        for name in names {
            self.open.insert(name.clone());
            self.files.entry(name.clone()).or_default().insert(file);
        }
    }

    /// Something about all of them, or where it stands, may be another.
    pub(super) fn open_all(&mut self) {
        self.all_open = true;
    }

    /// Their names, in order.
    pub(super) fn names(&self) -> impl Iterator<Item = &CompactString> {
        self.known.keys()
    }

    /// What is known of one.
    pub(super) fn of(&self, name: &str) -> Option<&Known> {
        self.known.get(name)
    }

    /// How the rules ended for all of them.
    pub(super) fn coverage(&self) -> Coverage {
        let rows = self.known.iter().filter(|(_, known)| !known.row.is_empty());
        rows.map(|(name, known)| (name.clone(), known.row.clone())).collect()
    }

    /// Brings together again what was said about those that are open.
    pub(super) fn renew(&mut self, workspace: &Workspace) {
        // How rules end for one that no model flies hangs on all models.
        let not_flown = self.known.iter().filter(|(_, known)| !known.flown).map(|(name, _)| name.clone());
        self.open.extend(not_flown);
        let (open, all) = (mem::take(&mut self.open), mem::take(&mut self.all_open));
        let crafts = || workspace.fleet.crafts.iter().filter(|craft| all || open.contains(&craft.head.name.value));
        let mut new: FxHashMap<&CompactString, (Row, bool, bool)> =
            crafts().map(|craft| (&craft.head.name.value, Default::default())).collect();
        if all {
            self.known.clear();
            self.files.clear();
            for (file, subjects) in (0..).map(FileId).zip(workspace.files.iter().map(|file| &file.subjects)) {
                for name in subjects.aircraft() {
                    self.files.entry(name.clone()).or_default().insert(file);
                }
            }
        }
        self.known.retain(|name, _| !open.contains(name));
        if new.is_empty() {
            return;
        }
        let files: FxHashSet<FileId> = new.keys().filter_map(|name| self.files.get(*name)).flatten().copied().collect();
        let subjects = files.iter().filter_map(|file| Some(&workspace.files.get(file.0 as usize)?.subjects));
        for asked in subjects.flat_map(|file| file.crafts.iter().chain(&file.models)).flatten() {
            for (name, row) in asked.coverage.rows() {
                if let Some((known, ..)) = new.get_mut(name) {
                    known.add(row);
                }
            }
        }
        let handsets = workspace.handset_rows();
        for model in files.iter().flat_map(|file| workspace.fleet.models_of(*file)) {
            let sends = model.simulator.is_some() || model.modules_on().next().is_some();
            for name in &model.flies {
                let Some((known, flown, sent)) = new.get_mut(&name.value) else { continue };
                *flown = true;
                *sent |= sends;
                let rows = model.handset.as_ref().and_then(|handset| handsets.get(handset.value.as_str()));
                rows.into_iter().flatten().for_each(|row| known.add(row));
            }
        }
        let context = workspace.context();
        for (name, (known, ..)) in new.iter_mut().filter(|(_, (_, flown, _))| !flown) {
            // Of several aircraft of one name the first counts.
            let row = workspace.fleet.craft(name).map(|craft| workspace.rules.not_flown(&context, craft));
            row.iter().for_each(|row| known.add(row));
        }
        for (name, (mut row, flown, sent)) in new {
            row.each_place(&mut |place| *place = workspace.as_given(*place));
            self.known.insert(name.clone(), Known { row: Arc::new(row), flown, sent });
        }
    }
}

impl Workspace {
    /// How the rules ended for handsets, by name.
    fn handset_rows(&self) -> FxHashMap<&str, Vec<&Row>> {
        let mut rows: FxHashMap<&str, Vec<&Row>> = FxHashMap::default();
        let asked = self.files.iter().flat_map(|file| file.subjects.handsets.iter().flatten());
        for (name, row) in asked.flat_map(|asked| asked.coverage.rows()) {
            rows.entry(name).or_default().push(row);
        }
        rows
    }
}
