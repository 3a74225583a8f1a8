//! The texts of an inspection: chosen, read once, and read again for excerpts.

use super::{json_files, settings};
use crate::findings::{Finding, Mend, Severity};
use crate::rules::engine::{ReadFile, read_outline};
use crate::settings::Settings;
use crate::settings::disk::{self, Left, Source};
use crate::source::{FileId, Place, Span};
use crate::syntax::{MAX_BYTES, Tables};
use rayon::prelude::*;
use rustc_hash::FxHasher;
use std::collections::BTreeMap;
use std::hash::Hasher;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

/// What the arguments ask for.
pub(super) struct Wanted<'a> {
    pub(super) paths: &'a [PathBuf],
    /// The name that standard input is shown under.
    pub(super) name: &'a str,
}

/// The files of an inspection.
pub(super) struct Sources {
    /// The names of all files, by number: the rig files first, then others that findings speak of.
    pub(super) shown: Vec<String>,
    /// How many of them describe the fleet.
    pub(super) count: usize,
    /// Faults of the settings and of what can't be read.
    pub(super) faults: Vec<Finding>,
    /// Paths from which nothing came, in words.
    pub(super) left: Vec<String>,
    files: Vec<Source>,
    /// A text that is on no disk: standard input.
    given: Option<Vec<u8>>,
    /// The folder of the settings file.
    pub(super) root: Option<PathBuf>,
    pub(super) settings_file: Option<FileId>,
    /// Texts of files that do not describe the fleet, by number.
    texts: Vec<(FileId, Vec<u8>)>,
    /// Length and hash of each text as it was read, to know it again.
    seen: Vec<(usize, u64)>,
}

/// More files than this are read on all cores.
const FEW: usize = 16;
/// So many files are read by one worker in a row.
const BATCH: usize = 32;

/// More than what stays of a batch takes, in bytes, and less than what is given back to the system at once.
const RESERVE: usize = 96 << 10;

/// What came of files that stand side by side.
#[derive(Default)]
struct Batch {
    files: Vec<ReadFile>,
    seen: Vec<(usize, u64)>,
    failed: Vec<(usize, std::io::Error)>,
}

impl Batch {
    /// Takes in the batch behind it; reduced files are put together.
    fn add(&mut self, mut next: Self, reduce: bool) {
        match (self.files.last_mut(), next.files.pop()) {
            (Some(last), Some(read)) if reduce => last.add(read),
            (_, read) => {
                self.files.append(&mut next.files);
                self.files.extend(read);
            }
        }
        self.seen.append(&mut next.seen);
        self.failed.append(&mut next.failed);
    }
}

/// Batches as they are finished, put together in their order: what has its place lies in one piece at once, so that the
/// memory of a batch is free for the next.
#[derive(Default)]
struct Gathered {
    all: Batch,
    next: usize,
    early: BTreeMap<usize, Batch>,
}

impl Gathered {
    fn take(&mut self, number: usize, batch: Batch, reduce: bool) {
        self.early.insert(number, batch);
        while let Some(batch) = self.early.remove(&self.next) {
            self.all.add(batch, reduce);
            self.next += 1;
        }
    }
}

/// What a worker uses again from file to file.
#[derive(Default)]
struct Desk {
    tables: Tables,
    buffer: Vec<u8>,
}

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
        let first: &Path = match wanted.paths.first() {
            Some(path) if !stdin => path,
            _ => &working,
        };
        // A path that is not there is told when the files are chosen.
        let file = disk::find_settings(first, &working).ok().flatten();
        let text = match &file {
            None => None,
            Some(file) => Some(disk::read(file, MAX_BYTES).map_err(|error| format!("{}: {error}", file.display()))?),
        };
        let shown = file.as_ref().map(|file| disk::shown(file, &working));
        let mut sources = Self {
            shown: Vec::new(),
            count: 0,
            faults: Vec::new(),
            left: Vec::new(),
            files: Vec::new(),
            given: None,
            root: file.as_deref().and_then(Path::parent).map(Path::to_owned),
            settings_file: None,
            texts: Vec::new(),
            seen: Vec::new(),
        };
        // The number of the settings file is known once the rig files are: its faults are given their file then.
        let (mut settings, faults) = settings::read(text.as_deref());
        if stdin {
            let mut bytes = Vec::new();
            let read = std::io::stdin().lock().take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes);
            read.map_err(|error| format!("standard input can't be read: {error}"))?;
            sources.given = Some(bytes);
            sources.shown.push(wanted.name.to_owned());
            sources.count = 1;
        } else {
            let globs = Arc::new(std::mem::take(&mut settings.globs));
            let root = file.as_deref().and_then(Path::parent);
            let chosen = disk::choose(wanted.paths, &working, root.map(|root| (&globs, root)));
            sources.count = chosen.sources.len();
            sources.shown.extend(chosen.sources.iter().map(|source| source.shown.clone()));
            sources.files = chosen.sources;
            sources.left.extend(chosen.left.iter().map(|left| match left {
                Left::File(name) => format!("{name} is left out by the settings file"),
                Left::Folder(name) => format!(
                    "{} has no file that ends in .rig and belongs to the fleet",
                    if name.is_empty() { "this folder" } else { name }
                ),
            }));
            for unreadable in chosen.unreadable {
                let id = FileId(sources.shown.len() as u32);
                sources.faults.push(unreadable_file(id, &unreadable.shown, &unreadable.reason));
                sources.shown.push(unreadable.shown);
            }
        }
        if let Some(shown) = shown {
            let id = FileId(sources.shown.len() as u32);
            sources.shown.push(shown);
            sources.settings_file = Some(id);
            sources.texts.extend(text.map(|text| (id, text)));
            sources.faults.extend(faults.into_iter().map(|fault| settings::in_file(fault, id)));
        }
        Ok((sources, settings))
    }

    /// Adds a text that does not describe the fleet, and gives its number.
    pub(super) fn add_text(&mut self, path: &Path, text: Vec<u8>) -> FileId {
        let id = FileId(self.shown.len() as u32);
        let working = std::env::current_dir().unwrap_or_default();
        self.shown.push(disk::shown(path, &working));
        self.texts.push((id, text));
        id
    }

    /// The names of the fleet's files below a folder, by number; the full path of one that lies elsewhere.
    pub(super) fn names_below(&self, folder: &Path) -> Vec<String> {
        let folder = folder.canonicalize().unwrap_or_default();
        let name = |source: &Source| source.path.canonicalize().map(|real| disk::shown(&real, &folder));
        self.files.iter().map(|source| name(source).unwrap_or_else(|_| source.shown.clone())).collect()
    }

    /// Whether there is neither a text nor a fault to speak of.
    pub(super) fn is_empty(&self) -> bool {
        self.count == 0 && self.faults.is_empty()
    }

    /// The names of all files as other programs look them up: without `..`, and below the current folder where they lie
    /// there.
    pub(super) fn real_names(&self) -> Vec<String> {
        let working = std::env::current_dir().and_then(|working| working.canonicalize()).unwrap_or_default();
        let real = |name: &String| {
            let path = Path::new(name);
            let plain = path.is_relative() && path.components().all(|part| part != std::path::Component::ParentDir);
            match path.canonicalize() {
                Ok(real) if !plain => disk::shown(&real, &working),
                _ => name.clone(),
            }
        };
        self.shown.iter().map(real).collect()
    }

    /// Reads every file once. One that can't be read is a fault.
    pub(super) fn read(&mut self) -> Vec<ReadFile> {
        self.read_files(false)
    }

    /// Reads every file, and of rig files keeps only what other files need to know.
    pub(super) fn read_reduced(&mut self) -> Vec<ReadFile> {
        self.read_files(true)
    }

    fn read_files(&mut self, reduce: bool) -> Vec<ReadFile> {
        if let Some(bytes) = &self.given {
            self.seen.push(digest(bytes));
            let read = json_files::reader(self.is_json(FileId(0)));
            return vec![read(FileId(0), bytes, &mut Tables::default())];
        }
        let batch = if self.files.len() > FEW {
            self.batches(reduce)
        } else {
            self.batch(0, &self.files, reduce, &mut Desk::default())
        };
        self.seen.extend(batch.seen);
        for (index, error) in batch.failed {
            let name = self.shown.get(index).cloned().unwrap_or_default();
            self.faults.push(unreadable_file(FileId(index as u32), &name, &disk::reason(&error)));
        }
        batch.files
    }

    /// Reads all files on all cores. Each worker takes the batch that is next, so that few wait for one before them.
    fn batches(&self, reduce: bool) -> Batch {
        let (next, gathered) = (AtomicUsize::new(0), Mutex::new(Gathered::default()));
        rayon::broadcast(|_| {
            let mut desk = Desk::default();
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                let Some(files) = self.files.chunks(BATCH).nth(number) else { break };
                // Memory for what stays of them is asked for in one piece: else the system would be asked for each page.
                drop(std::hint::black_box(Vec::<u8>::with_capacity(RESERVE)));
                let batch = self.batch(number * BATCH, files, reduce, &mut desk);
                gathered.lock().unwrap_or_else(PoisonError::into_inner).take(number, batch, reduce);
            }
        });
        gathered.into_inner().unwrap_or_else(PoisonError::into_inner).all
    }

    /// Reads files that stand side by side; `first` is the number of the first of them. Reduced files are put together.
    fn batch(&self, first: usize, sources: &[Source], reduce: bool, desk: &mut Desk) -> Batch {
        let (mut batch, Desk { tables, buffer }) = (Batch::default(), desk);
        for (index, source) in (first..).zip(sources) {
            let (file, is_json) = (FileId(index as u32), self.is_json(FileId(index as u32)));
            let length = disk::read_chosen(source, MAX_BYTES, buffer);
            let bytes = buffer.get(..*length.as_ref().unwrap_or(&0)).unwrap_or_default();
            batch.seen.push(digest(bytes));
            let read = match length {
                Ok(_) if reduce && !is_json => read_outline(file, bytes, tables),
                Ok(_) => json_files::reader(is_json)(file, bytes, tables),
                Err(error) => {
                    batch.failed.push((index, error));
                    ReadFile::unread()
                }
            };
            match batch.files.last_mut() {
                Some(last) if reduce => last.add(read),
                _ => batch.files.push(read),
            }
        }
        batch
    }

    /// The bytes of every rig file, with where it is; `None` where it can't be read, which is a fault then.
    pub(super) fn bytes(&mut self) -> Vec<Option<(PathBuf, Vec<u8>)>> {
        let read: Vec<std::io::Result<Vec<u8>>> =
            self.files.par_iter().map(|source| disk::read(&source.path, MAX_BYTES)).collect();
        let mut all = Vec::with_capacity(read.len());
        for (index, bytes) in read.into_iter().enumerate() {
            all.push(match bytes {
                Ok(bytes) => Some((self.files[index].path.clone(), bytes)),
                Err(error) => {
                    let name = self.shown.get(index).cloned().unwrap_or_default();
                    self.faults.push(unreadable_file(FileId(index as u32), &name, &error.to_string()));
                    None
                }
            });
        }
        all
    }

    /// Standard input, where that was asked for.
    pub(super) fn given(&self) -> Option<&[u8]> {
        self.given.as_deref()
    }

    /// The text of a file that findings speak of and that describes no fleet: the settings file, or the record of known
    /// findings.
    pub(super) fn other_text(&self, file: FileId) -> Option<&[u8]> {
        self.texts.iter().find(|(id, _)| *id == file).map(|(_, text)| text.as_slice())
    }

    /// Whether a file is in the JSON form: its name says so.
    pub(super) fn is_json(&self, file: FileId) -> bool {
        let index = file.0 as usize;
        index < self.count && self.shown.get(index).is_some_and(|name| name.ends_with(".json"))
    }

    /// The text of a file again as the rules see it: rig text, in the memory of another where that can be.
    pub(super) fn rig_text(&self, file: FileId, spent: Vec<u8>) -> Option<Vec<u8>> {
        let text = self.text_in(file, spent)?;
        Some(if self.is_json(file) { json_files::rig_text(file, &text) } else { text })
    }

    /// The text of a file again; `None` where it is no longer the same.
    pub(super) fn text(&self, file: FileId) -> Option<Vec<u8>> {
        self.text_in(file, Vec::new())
    }

    fn text_in(&self, file: FileId, spent: Vec<u8>) -> Option<Vec<u8>> {
        let index = file.0 as usize;
        if index >= self.count {
            return self.other_text(file).map(<[u8]>::to_vec);
        }
        if let Some(given) = &self.given {
            return Some(given.clone());
        }
        let (source, seen) = (self.files.get(index)?, self.seen.get(index)?);
        let bytes = disk::read_again(source, seen.0, spent).ok()?;
        (digest(&bytes) == *seen).then_some(bytes)
    }
}

fn digest(bytes: &[u8]) -> (usize, u64) {
    let mut hasher = FxHasher::default();
    hasher.write(bytes);
    (bytes.len(), hasher.finish())
}

fn unreadable_file(file: FileId, name: &str, reason: &str) -> Finding {
    let message = format!("{name} can't be read: {reason}.");
    let place = Place::new(file, Span::new(0, 0));
    Finding {
        mend: Mend::Words("Check the path and who may read it.".to_owned()),
        ..Finding::new("format/unreadable", Severity::Fault, place, "file", message)
    }
}
