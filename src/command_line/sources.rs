//! The files of an inspection: chosen, read, and handed to the workspace.

use super::progress::Progress;
use super::{settings, threads};
use crate::findings::Finding;
use crate::inspect::{Workspace, unreadable_file};
use crate::settings::Settings;
use crate::settings::disk::{self, Left, Source};
use crate::syntax::MAX_BYTES;
use rustc_hash::FxHashSet;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What the arguments ask for.
pub(super) struct Wanted<'a> {
    pub(super) paths: &'a [PathBuf],
    /// The name that standard input is shown under. With `around` a name that the pilot gave: the text stands for that file.
    pub(super) name: &'a str,
    /// Whether the rest of the folder is read too where files are named: what they name is defined there.
    pub(super) around: bool,
    /// Which settings file holds.
    pub(super) settings: &'a settings::Choice,
}

/// The files of an inspection.
pub(super) struct Sources {
    /// Those that describe the fleet, in the order of their names.
    pub(super) files: Vec<Source>,
    /// Other texts, and files that can't be read, with what is wrong.
    pub(super) notes: Vec<Note>,
    /// Paths from which nothing came, in words.
    pub(super) left: Vec<String>,
    /// A text that is on no disk: standard input, with its name.
    given: Option<(String, Vec<u8>)>,
    /// The names of the files that the arguments name, where others were read only to know what they define.
    named: Option<FxHashSet<String>>,
    /// What those others were, in words.
    pub(super) around: Option<String>,
    /// The folder of the settings file.
    pub(super) root: Option<PathBuf>,
    /// The number of the settings file among the notes.
    pub(super) settings_file: Option<usize>,
}

/// A text that does not describe the fleet, or a file that can't be read.
pub(super) struct Note {
    pub(super) name: String,
    pub(super) text: Arc<[u8]>,
    pub(super) faults: Vec<Finding>,
}

/// Fewer files than this are read, and looked at, one after the other: starting threads would take longer.
const FEW: usize = 16;

impl Sources {
    /// Chooses the files, and reads the settings that hold for the first path.
    ///
    /// # Errors
    /// What is wrong with the arguments, in words.
    pub(super) fn choose(wanted: &Wanted<'_>) -> Result<(Self, Settings), String> {
        let working = std::env::current_dir().map_err(|error| format!("the current folder can't be found: {error}"))?;
        let stdin = wanted.paths.iter().any(|path| path.as_os_str() == "-");
        if stdin && wanted.paths.len() > 1 {
            return Err("standard input is read alone: give `-` or paths, not both".to_owned());
        }
        // Standard input that stands for a file lies where that file does.
        let stands_for = (stdin && wanted.around).then(|| working.join(wanted.name));
        let first: &Path = match wanted.paths.first() {
            Some(path) if !stdin => path,
            _ => stands_for.as_deref().and_then(Path::parent).filter(|folder| folder.is_dir()).unwrap_or(&working),
        };
        let named = wanted.settings.named().unwrap_or(first).display();
        let file = wanted.settings.file_for(first, &working);
        let file = file.map_err(|error| format!("--settings {named}: {}", disk::reason(&error)))?;
        let text = match &file {
            None => None,
            Some(file) => Some(disk::read(file, MAX_BYTES).map_err(|error| format!("{}: {error}", file.display()))?),
        };
        let mut sources = Self {
            files: Vec::new(),
            notes: Vec::new(),
            left: Vec::new(),
            given: None,
            named: None,
            around: None,
            root: file.as_deref().and_then(Path::parent).map(Path::to_owned),
            settings_file: None,
        };
        let (mut settings, faults) = settings::read(text.as_deref());
        let globs = Arc::new(std::mem::take(&mut settings.globs));
        let root = file.as_deref().and_then(Path::parent);
        let rules = || root.map(|root| (&globs, root));
        if stdin {
            let mut bytes = Vec::new();
            let read = io::stdin().lock().take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes);
            read.map_err(|error| format!("standard input can't be read: {error}"))?;
            let name = stands_for.as_deref().map_or(wanted.name.to_owned(), |path| disk::shown(path, &working));
            sources.given = Some((name, bytes));
        } else {
            let chosen = disk::choose(wanted.paths, &working, rules());
            sources.files = chosen.sources;
            sources.left.extend(chosen.left.iter().map(|left| match left {
                Left::File(name) => format!("{name} is left out by the settings file"),
                Left::Folder(name) => format!(
                    "{} has no file that ends in .rig and belongs to the fleet",
                    if name.is_empty() { "this folder" } else { name }
                ),
            }));
            for unreadable in chosen.unreadable {
                let faults = vec![unreadable_file(&unreadable.shown, &unreadable.reason)];
                sources.notes.push(Note { name: unreadable.shown, text: Arc::default(), faults });
            }
        }
        if wanted.around {
            let folders = folders_of_files(wanted.paths, stands_for.as_deref());
            let (chosen, whole) = match root {
                Some(root) if !folders.is_empty() => {
                    (disk::choose(&[root.to_owned()], &working, rules()), disk::shown(root, &working))
                }
                _ => {
                    let shown: Vec<String> = folders.iter().map(|folder| disk::shown(folder, &working)).collect();
                    (disk::choose_beside(&folders, &working, rules()), shown.join(", "))
                }
            };
            sources.read_around(chosen.sources, stands_for.as_deref(), &whole);
        }
        if let Some(file) = &file {
            sources.settings_file = Some(sources.notes.len());
            let text = text.unwrap_or_default().into();
            sources.notes.push(Note { name: disk::shown(file, &working), text, faults });
        }
        Ok((sources, settings))
    }

    /// Takes in files that are read only to know what they define.
    fn read_around(&mut self, around: Vec<Source>, stands_for: Option<&Path>, folders: &str) {
        let own: FxHashSet<&Path> = self.files.iter().map(|source| source.path.as_path()).collect();
        let mut around: Vec<Source> =
            around.into_iter().filter(|source| !own.contains(source.path.as_path())).collect();
        if around.is_empty() {
            return;
        }
        // The same file may have been given by another path.
        let real = |path: &Path| path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let own: FxHashSet<PathBuf> =
            self.files.iter().map(|source| real(&source.path)).chain(stands_for.map(real)).collect();
        around.retain(|source| !own.contains(&real(&source.path)));
        if around.is_empty() {
            return;
        }
        let of = if matches!(folders, "" | ".") { "this folder" } else { folders };
        let below = if self.root.is_some() { " and the folders in it, as the settings file says," } else { "" };
        let (files, were) = if around.len() == 1 { ("file", "was") } else { ("files", "were") };
        let count = around.len();
        self.around = Some(format!("{count} more {files} of {of}{below} {were} read for what is defined there"));
        let named = self.files.iter().map(|source| source.shown.clone());
        self.named = Some(named.chain(self.given.iter().map(|(name, _)| name.clone())).collect());
        self.files.extend(around);
        self.files.sort_unstable_by(|left, right| (&left.shown, &left.path).cmp(&(&right.shown, &right.path)));
    }

    /// Whether the arguments name a file, or a folder that it is in, and it was not read only for what it defines.
    pub(super) fn is_named(&self, name: &str) -> bool {
        self.named.as_ref().is_none_or(|named| named.contains(name))
    }

    /// Whether files were read only to know what they define.
    pub(super) fn has_around(&self) -> bool {
        self.named.is_some()
    }

    /// Adds a text that does not describe the fleet, with what is wrong in it.
    pub(super) fn add_text(&mut self, path: &Path, text: Vec<u8>, faults: Vec<Finding>) {
        let working = std::env::current_dir().unwrap_or_default();
        self.notes.push(Note { name: disk::shown(path, &working), text: text.into(), faults });
    }

    /// The names of the fleet's files below a folder, by number; the full path of one that lies elsewhere.
    pub(super) fn names_below(&self, folder: &Path) -> Vec<String> {
        let folder = folder.canonicalize().unwrap_or_default();
        let name = |source: &Source| source.path.canonicalize().map(|real| disk::shown(&real, &folder));
        self.files.iter().map(|source| name(source).unwrap_or_else(|_| source.shown.clone())).collect()
    }

    /// Whether there is neither a text nor a fault to speak of.
    pub(super) fn is_empty(&self) -> bool {
        self.files.is_empty() && self.given.is_none() && self.faults().next().is_none()
    }

    /// What is wrong outside of the texts that describe the fleet, with the name of the file in which it is.
    pub(super) fn faults(&self) -> impl Iterator<Item = (&str, &Finding)> {
        self.notes.iter().flat_map(|note| note.faults.iter().map(|fault| (note.name.as_str(), fault)))
    }

    /// Reads every file once, and hands it to the workspace with the rest. One that can't be read is a fault.
    pub(super) fn load(&self, workspace: &mut Workspace) {
        workspace.spread(on_all_cores);
        for note in &self.notes {
            workspace.note(&note.name, note.text.clone(), note.faults.clone());
        }
        if let Some((name, text)) = &self.given {
            workspace.set(name, text.as_slice());
        }
        for (source, text) in self.files.iter().zip(self.texts()) {
            match text {
                Ok(text) => workspace.set(&source.shown, text),
                Err(error) => workspace.unreadable(&source.shown, disk::reason(&error)),
            }
        }
        workspace.read();
    }

    /// The text of every file that describes the fleet, in their order.
    pub(super) fn texts(&self) -> Vec<io::Result<Arc<[u8]>>> {
        let read = |buffer: &mut Vec<u8>, source: &Source| {
            let length = disk::read_chosen(source, MAX_BYTES, buffer)?;
            Ok(buffer.get(..length).unwrap_or_default().into())
        };
        if self.files.len() <= FEW {
            let mut buffer = Vec::new();
            return self.files.iter().map(|source| read(&mut buffer, source)).collect();
        }
        threads::map(&self.files, Vec::new, read)
    }

    /// Standard input and its name, where that was asked for.
    pub(super) fn given(&self) -> Option<(&str, &[u8])> {
        self.given.as_ref().map(|(name, text)| (name.as_str(), text.as_slice()))
    }
}

/// The folders in which the files lie that are named.
fn folders_of_files(paths: &[PathBuf], stands_for: Option<&Path>) -> Vec<PathBuf> {
    let named = paths.iter().map(PathBuf::as_path).filter(|path| path.is_file());
    let folders = named.chain(stands_for).filter_map(Path::parent).map(|folder| match folder {
        own if own == Path::new("") => Path::new("."),
        own => own,
    });
    let mut folders: Vec<PathBuf> = folders.filter(|folder| folder.is_dir()).map(Path::to_owned).collect();
    folders.sort();
    folders.dedup();
    folders
}

/// The names of files as other programs look them up: without `..`, and below the current folder where they lie there.
pub(super) fn real_names(names: &[String]) -> Vec<String> {
    let working = std::env::current_dir().and_then(|working| working.canonicalize()).unwrap_or_default();
    let real = |name: &String| {
        let path = Path::new(name);
        let plain = path.is_relative() && path.components().all(|part| part != std::path::Component::ParentDir);
        match path.canonicalize() {
            Ok(real) if !plain => disk::shown(&real, &working),
            _ => name.clone(),
        }
    };
    names.iter().map(real).collect()
}

/// Has pieces of work done on all cores where there are many of them, and shows how far they are.
fn on_all_cores(count: usize, piece: &(dyn Fn(usize) + Sync)) {
    if count <= FEW {
        return (0..count).for_each(piece);
    }
    let progress = Progress::through(count);
    threads::spread(count, &|number| {
        piece(number);
        progress.step();
    });
}
