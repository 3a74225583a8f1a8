//! The record of known findings on the disk: read where the settings name it, written when the pilot asks for it.

use super::new_file;
use super::output::tell;
use super::sources::Sources;
use crate::findings::Severity;
use crate::findings::known::{Entry, Known};
use crate::inspect::Outcome;
use crate::report::record;
use crate::settings::disk::{self, ENDINGS};
use crate::settings::{FILE_NAME, MAX_RECORD_BYTES, Settings, read_record, unreadable_record};
use crate::source::FileId;
use rustc_hash::FxHashSet;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The record of one run.
pub(super) struct Record {
    /// Where it is written; none where it is only read.
    to: Option<PathBuf>,
    /// The folder that the names in it start from: that of the settings file, else its own.
    root: PathBuf,
}

impl Record {
    /// Finds the record that is to be written, or the one that the settings name, and reads it. What is wrong with the
    /// latter is a fault among the sources'.
    ///
    /// # Errors
    /// Why nothing can be written to `to`, in words.
    pub(super) fn open(to: Option<&Path>, settings: &Settings, sources: &mut Sources) -> Result<(Self, Known), String> {
        let beside = |path: &Path| match path.parent() {
            Some(folder) if folder != Path::new("") => folder.to_owned(),
            _ => PathBuf::from("."),
        };
        if let Some(to) = to {
            let entries = present(to)?;
            let root = sources.root.clone().unwrap_or_else(|| beside(to));
            return Ok((Self { to: Some(to.to_owned()), root }, Known { entries, all: true }));
        }
        let mut known = Known::default();
        let root = sources.root.clone().unwrap_or_default();
        if let Some(named) = &settings.known {
            match text_of(&root, &named.value) {
                Ok(text) => {
                    let path = root.join(&named.value);
                    let (entries, faults) = read_record(&text, FileId(0), &named.value);
                    known.entries = entries;
                    sources.add_text(&path, text, faults);
                }
                Err(reason) => {
                    let settings_file = sources.settings_file.and_then(|at| sources.notes.get_mut(at));
                    settings_file.into_iter().for_each(|note| note.faults.push(unreadable_record(named, &reason)));
                }
            }
        }
        Ok((Self { to: None, root }, known))
    }

    /// The entries that match nothing though this run would have met their findings.
    pub(super) fn stale(&self, known: &Known, outcome: &Outcome, sources: &Sources) -> Vec<Entry> {
        if self.to.is_some() || !outcome.unmatched.iter().any(|(_, answered)| *answered) {
            return Vec::new();
        }
        let names = sources.names_below(&self.root);
        let inspected = names.iter().map(String::as_str).collect();
        outcome.stale(known, |entry| self.is_met(entry, &inspected))
    }

    /// Writes what is known now: the findings that this run left out, and the entries about which it could say nothing.
    /// Does nothing where no record was asked for.
    ///
    /// # Errors
    /// When the file can't be written.
    pub(super) fn write(
        &self,
        known: &Known,
        outcome: &Outcome,
        sources: &Sources,
        settings: &Settings,
    ) -> io::Result<()> {
        let Some(to) = &self.to else { return Ok(()) };
        let names = sources.names_below(&self.root);
        let found = outcome
            .known
            .iter()
            .map(|finding| Entry::of(finding, names.get(finding.place.file.0 as usize).map_or("", String::as_str)));
        let mut entries: Vec<Entry> = found.collect();
        let recorded = entries.len();
        let inspected = names.iter().map(String::as_str).collect();
        let unmatched =
            outcome.unmatched.iter().filter_map(|&(number, answered)| Some((known.entries.get(number)?, answered)));
        entries.extend(
            unmatched
                .filter(|(entry, answered)| !answered || !self.is_met(entry, &inspected))
                .map(|(entry, _)| entry.clone()),
        );
        let kept = entries.len() - recorded;
        new_file::save(to, true, |file| record::write(entries, file))?;
        let kept = match kept {
            0 => String::new(),
            _ => format!(", and {kept} that this run did not look for are kept"),
        };
        let findings = if recorded == 1 { "1 finding is" } else { &format!("{recorded} findings are") };
        let dangers = match outcome.known.iter().filter(|finding| finding.severity == Severity::Danger).count() {
            0 => String::new(),
            1 => ", 1 of them a danger".to_owned(),
            count => format!(", {count} of them dangers"),
        };
        tell(&format!("{findings} recorded as known in {}{dangers}{kept}", to.display()));
        self.tell_where_to_name_it(to, settings);
        Ok(())
    }

    /// A record counts only where the settings name it.
    fn tell_where_to_name_it(&self, to: &Path, settings: &Settings) {
        let (Ok(real), Ok(root)) = (to.canonicalize(), self.root.canonicalize()) else { return };
        let named = settings.known.as_ref().and_then(|named| root.join(&named.value).canonicalize().ok());
        if named.as_ref() != Some(&real) {
            match real.strip_prefix(&root) {
                Ok(name) => tell(&format!("it counts once {FILE_NAME} says known = \"{}\"", disk::shown(name, &root))),
                Err(_) => tell(&format!("it counts only below the folder of {FILE_NAME}")),
            }
        }
    }

    /// Whether this run would have met the finding of an entry: its file was inspected, or is gone.
    fn is_met(&self, entry: &Entry, inspected: &FxHashSet<&str>) -> bool {
        inspected.contains(entry.file.as_str()) || !self.root.join(&entry.file).exists()
    }
}

/// The entries of a record that is about to be written over; none where there is no file yet.
///
/// # Errors
/// Why the file must not be written, in words.
fn present(to: &Path) -> Result<Vec<Entry>, String> {
    let name = to.file_name().map(|name| name.to_string_lossy()).unwrap_or_default();
    if name == FILE_NAME || ENDINGS.iter().any(|ending| name.ends_with(ending)) {
        return Err(format!("--record {}: this name belongs to another kind of file", to.display()));
    }
    let refuse = |why: &str| Err(format!("--record {}: {why}, so it is not written over", to.display()));
    match fs::symlink_metadata(to) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Vec::new()),
        Ok(metadata) if metadata.is_file() => {}
        Ok(_) => return refuse("this is no ordinary file"),
        Err(error) => return refuse(&error.to_string()),
    }
    let text = disk::read(to, MAX_RECORD_BYTES).map_err(|error| format!("--record {}: {error}", to.display()))?;
    let (entries, faults) = read_record(&text, FileId(0), &name);
    match faults.first() {
        Some(fault) if text.len() > MAX_RECORD_BYTES || !text.is_empty() => refuse(fault.message.trim_end_matches('.')),
        _ => Ok(entries),
    }
}

/// The record that the settings of a folder name, by its name there, where it can be read.
pub(super) fn named(settings: &Settings, folder: &Path) -> Option<(String, Arc<[u8]>)> {
    let name = settings.known_name()?;
    let text = text_of(folder, name).ok()?;
    Some((name.to_owned(), text.into()))
}

/// The text of the record that the settings name. It lies below the folder of the settings file, also by its real path:
/// a broken record is shown, and no other file must be.
fn text_of(root: &Path, name: &str) -> Result<Vec<u8>, String> {
    let path = root.join(name);
    let real = path.canonicalize().map_err(|error| error.to_string())?;
    if !root.canonicalize().is_ok_and(|root| real.starts_with(root)) {
        return Err(format!("it does not lie below the folder of {FILE_NAME}"));
    }
    let text = disk::read(&real, MAX_RECORD_BYTES).map_err(|error| error.to_string())?;
    if text.len() > MAX_RECORD_BYTES {
        return Err(format!("it is larger than {} MiB", MAX_RECORD_BYTES >> 20));
    }
    Ok(text)
}
