//! A folder with the texts that are open in the editor laid over it.

use crate::findings::Finding;
use crate::inspect::{Options, Workspace};
use crate::settings::disk::{ENDINGS, shown};
use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Reads a folder, or a file with the folder that it belongs to, from the disk.
///
/// # Errors
/// Why it can't be read, in words.
pub type Load<'l> = &'l dyn Fn(&Path) -> Result<Loaded, String>;

/// A text, or why there is none, in words that can stand behind a colon.
pub type Text = Result<Arc<[u8]>, String>;

/// Whether a file would belong to the fleet.
pub type Takes = Box<dyn Fn(&Path) -> bool>;

/// Has so many pieces of work done at the same time, as [`Workspace::spread`] takes it.
pub type Spread = fn(usize, &(dyn Fn(usize) + Sync));

/// A folder as `inspect` reads it.
pub struct Loaded {
    /// The folder that the names of files start from.
    pub root: PathBuf,
    /// How the inspection is done.
    pub options: Options,
    /// The files that describe the fleet.
    pub files: Vec<(PathBuf, Text)>,
    /// Other texts, and what is wrong outside of texts.
    pub notes: Vec<Noted>,
    /// Whether a file that is not there would belong to the fleet.
    pub takes: Takes,
    /// How work is spread.
    pub spread: Spread,
}

impl fmt::Debug for Loaded {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} with {} files", self.root.display(), self.files.len())
    }
}

/// A text that describes no fleet, with what is wrong in it or with its file.
#[derive(Clone, PartialEq, Debug)]
pub struct Noted {
    /// Its file.
    pub path: PathBuf,
    /// Its text.
    pub text: Arc<[u8]>,
    /// What is wrong.
    pub faults: Vec<Finding>,
}

/// A folder that is inspected while its files are edited.
#[derive(Default)]
pub(super) struct Folder {
    /// What the names of files start from; empty for texts that are on no disk.
    root: PathBuf,
    /// The texts, as they are in the editor where they are open there.
    pub(super) workspace: Workspace,
    /// What is on the disk, by name.
    disk: BTreeMap<String, Text>,
    /// What is open, by name.
    open: BTreeMap<String, Arc<[u8]>>,
    notes: Vec<Noted>,
    takes: Option<Takes>,
    /// The path that was asked for, to read the folder again.
    pub(super) asked: PathBuf,
}

impl Folder {
    /// A folder, or one around a file, as it is on the disk.
    pub(super) fn load(asked: PathBuf, load: Load<'_>) -> (Self, Result<(), String>) {
        let mut folder = Self { asked, workspace: Workspace::new(), ..Self::default() };
        folder.root.clone_from(&folder.asked);
        let result = folder.load_again(load);
        (folder, result)
    }

    /// A folder of texts that are on no disk.
    pub(super) fn nowhere() -> Self {
        Self { workspace: Workspace::new(), ..Self::default() }
    }

    /// Whether its texts are on no disk.
    pub(super) fn is_nowhere(&self) -> bool {
        self.root.as_os_str().is_empty()
    }

    /// Takes in what is on the disk now. Only what is another than before is read again; what is open stays as it is in the
    /// editor.
    ///
    /// # Errors
    /// Why it can't be read, in words.
    pub(super) fn load_again(&mut self, load: Load<'_>) -> Result<(), String> {
        if self.is_nowhere() {
            return Ok(());
        }
        let loaded = load(&self.asked)?;
        self.root = loaded.root;
        let is_first = self.takes.is_none();
        if is_first {
            self.workspace.spread(loaded.spread);
        }
        self.takes = Some(loaded.takes);
        if is_first || self.notes != loaded.notes || self.workspace.options().today != loaded.options.today {
            self.workspace.settings(loaded.options);
            for noted in &self.notes {
                self.workspace.note(&self.name(&noted.path), [], Vec::new());
            }
            for noted in &loaded.notes {
                self.workspace.note(&self.name(&noted.path), noted.text.clone(), noted.faults.clone());
            }
            self.notes = loaded.notes;
        }
        let disk: BTreeMap<String, Text> =
            loaded.files.into_iter().map(|(path, text)| (self.name(&path), text)).collect();
        let before = std::mem::replace(&mut self.disk, disk);
        let gone = before.keys().filter(|name| !self.disk.contains_key(*name) && !self.open.contains_key(*name));
        gone.for_each(|name| self.workspace.remove(name));
        for (name, text) in self.disk.iter().filter(|(name, _)| !self.open.contains_key(*name)) {
            match text {
                Ok(text) => self.workspace.set(name, text.clone()),
                Err(_) if before.get(name) == Some(text) => {}
                Err(reason) => self.workspace.unreadable(name, reason.clone()),
            }
        }
        Ok(())
    }

    /// The name of a file: its path from the folder on.
    pub(super) fn name(&self, path: &Path) -> String {
        shown(path, &self.root)
    }

    /// The path of a name; none where the texts are on no disk.
    pub(super) fn path(&self, name: &str) -> Option<PathBuf> {
        (!self.is_nowhere()).then(|| self.root.join(name))
    }

    /// How much of a path lies in the folder; `None` where the path lies elsewhere.
    pub(super) fn holds(&self, path: &Path) -> Option<usize> {
        (!self.is_nowhere() && path.starts_with(&self.root)).then(|| self.root.as_os_str().len())
    }

    /// Whether a file with this name belongs to the fleet.
    pub(super) fn takes(&self, name: &str) -> bool {
        let is_rig = ENDINGS.iter().any(|ending| name.len() > ending.len() && name.ends_with(ending));
        let is_taken = || match (&self.takes, self.path(name)) {
            (Some(takes), Some(path)) => takes(&path),
            _ => true,
        };
        is_rig && (self.disk.contains_key(name) || is_taken())
    }

    /// Lays a text over what is on the disk.
    pub(super) fn open(&mut self, name: &str, text: Arc<[u8]>) {
        self.workspace.set(name, text.clone());
        self.open.insert(name.to_owned(), text);
    }

    /// Takes the text away again that was laid over what is on the disk.
    pub(super) fn close(&mut self, name: &str) {
        if self.open.remove(name).is_none() {
            return;
        }
        match self.disk.get(name) {
            Some(Ok(text)) => self.workspace.set(name, text.clone()),
            Some(Err(reason)) => self.workspace.unreadable(name, reason.clone()),
            None => self.workspace.remove(name),
        }
    }

    /// The names that are open.
    pub(super) fn open_names(&self) -> impl Iterator<Item = &String> {
        self.open.keys()
    }
}
