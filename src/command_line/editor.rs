//! `walkaround editor`: the language server on standard input and output, and its folders on the disk.

mod transport;

use super::inspect::day;
use super::output::tell;
use super::record::Record;
use super::sources::{Sources, Wanted};
use super::{Status, settings, threads};
use crate::editor::{Loaded, Noted, serve};
use crate::findings::grading::Grading;
use crate::inspect::Options;
use crate::settings::Settings;
use crate::settings::disk;
use std::path::{Path, PathBuf};

/// Serves an editor over standard input and output, in the language server protocol: diagnostics, quick fixes, completion
/// and more while you write. Your editor starts it; `docs/editor.md` says how
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Talk over standard input and output, as some editors ask; there is no other way
    #[arg(long)]
    stdio: bool,
    #[command(flatten)]
    settings: settings::Choice,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    let (connection, talk) = transport::open();
    let left_well = serve(&connection, &|path| load_by(path, &arguments.settings));
    // Only now does the thread that writes come to its end.
    drop(connection);
    talk.finish();
    if left_well {
        Status::Clean
    } else {
        tell("the editor left without saying so");
        Status::Found
    }
}

/// Reads a folder, or a file with the folder that it belongs to, as `inspect` does.
///
/// # Errors
/// Why it can't be read, in words.
pub fn load(path: &Path) -> Result<Loaded, String> {
    load_by(path, &settings::Choice::default())
}

/// The same by a settings file that was chosen.
fn load_by(path: &Path, chosen: &settings::Choice) -> Result<Loaded, String> {
    let working = std::env::current_dir().map_err(|error| format!("the current folder can't be found: {error}"))?;
    // A file that is not saved yet belongs to the folder in which it will be.
    let there = match path.parent() {
        Some(folder) if !path.exists() => folder.to_owned(),
        _ => path.to_owned(),
    };
    let (mut sources, settings) =
        Sources::choose(&Wanted { paths: std::slice::from_ref(&there), name: "", around: true, settings: chosen })?;
    let (_, known) = Record::open(None, &settings, &mut sources)?;
    let mut grading = Grading::default();
    settings.grades.iter().for_each(|(name, grade)| grading.grade(name, *grade));
    let options = Options { grading, today: Some(day(None)?), known, ..settings::options(&settings) };
    let texts = sources.texts();
    let absolute = |shown: &str| working.join(shown);
    let files = sources.files.iter().zip(texts).map(|(source, text)| {
        let text = text.map_err(|error| disk::reason(&error));
        (working.join(&source.path), text)
    });
    let files = files.collect();
    let root = match (there.is_dir(), &sources.root) {
        (true, _) => there,
        (false, Some(root)) => root.clone(),
        (false, None) => there.parent().map(Path::to_owned).unwrap_or_default(),
    };
    let takes = takes(&sources);
    let notes = sources.notes.into_iter();
    let notes = notes.map(|note| Noted { path: absolute(&note.name), text: note.text, faults: note.faults }).collect();
    Ok(Loaded { root, options, files, notes, takes, spread: threads::spread })
}

/// Whether the settings take a file in.
fn takes(sources: &Sources) -> Box<dyn Fn(&Path) -> bool> {
    let note = sources.settings_file.and_then(|at| sources.notes.get(at));
    let (Settings { globs, .. }, _) = settings::read(note.map(|note| &*note.text));
    let root: Option<PathBuf> = sources.root.clone();
    Box::new(move |path| {
        let real = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        let below = root.as_ref().and_then(|root| real.strip_prefix(root).ok());
        below.is_none_or(|below| globs.take(&disk::shown(below, Path::new(""))))
    })
}
