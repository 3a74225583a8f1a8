//! The rig files under the paths that are named.

use super::{ENDINGS, SPECIAL, shown};
use crate::settings::Globs;
use ignore::{DirEntry, WalkBuilder};
use rustc_hash::FxHashMap;
use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A file to inspect.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Source {
    /// Where it is.
    pub path: PathBuf,
    /// How it is shown.
    pub shown: String,
}

/// Something that should be inspected and can't be.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Unreadable {
    /// How it is shown.
    pub shown: String,
    /// Why, in words that can stand behind a colon.
    pub reason: String,
}

/// A path named by hand from which nothing is taken.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Left {
    /// A file that the settings leave out.
    File(String),
    /// A folder without rig files, or whose rig files the settings all leave out.
    Folder(String),
}

/// What was chosen.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Chosen {
    /// Files to inspect, each once, in the order of their paths.
    pub sources: Vec<Source>,
    /// What can't be read.
    pub unreadable: Vec<Unreadable>,
    /// Paths from which nothing came.
    pub left: Vec<Left>,
}

/// Chooses the files: those named by hand, and the rig files in the folders named and below them. `globs` say which
/// belong to the fleet, relative to the folder `root`; a file named by hand obeys them too. Hidden files and folders
/// are passed over. Links are not followed, so that nothing outside of a named folder is read and no loop has an end
/// to wait for; one that is called like a rig file and leads elsewhere is told.
pub fn choose(paths: &[PathBuf], working: &Path, globs: Option<(&Arc<Globs>, &Path)>) -> Chosen {
    choose_down_to(None, paths, working, globs)
}

/// The same without what lies in the folders of the folders named: a file in a home folder must not have all of that read.
pub fn choose_beside(folders: &[PathBuf], working: &Path, globs: Option<(&Arc<Globs>, &Path)>) -> Chosen {
    choose_down_to(Some(1), folders, working, globs)
}

fn choose_down_to(
    depth: Option<usize>,
    paths: &[PathBuf],
    working: &Path,
    globs: Option<(&Arc<Globs>, &Path)>,
) -> Chosen {
    let globs = globs.and_then(|(globs, root)| Some(Rules { globs: globs.clone(), root: root.canonicalize().ok()? }));
    let mut choice = Choice { working, globs, depth, sources: FxHashMap::default(), chosen: Chosen::default() };
    for path in paths {
        match path.canonicalize() {
            Err(error) => choice.unreadable(path, reason(&error)),
            Ok(real) if real.is_dir() => choice.folder(path, &real),
            Ok(real) if real.metadata().is_ok_and(|metadata| super::is_special(&metadata)) => {
                choice.unreadable(path, SPECIAL.into());
            }
            Ok(real) if choice.takes(&real) => {
                let shown = shown(path, working);
                choice.sources.insert(real.into_os_string(), Source { path: path.clone(), shown });
            }
            Ok(_) => choice.chosen.left.push(Left::File(shown(path, working))),
        }
    }
    let Choice { sources, mut chosen, .. } = choice;
    chosen.sources = sources.into_values().collect();
    chosen.sources.sort_unstable_by(|left, right| (&left.shown, &left.path).cmp(&(&right.shown, &right.path)));
    // A name with bytes that are no text is shown with a sign in their place, as another may be.
    let unreadable = &mut chosen.unreadable;
    chosen.sources.dedup_by(|source, first| {
        let same = source.shown == first.shown;
        if same {
            unreadable.push(Unreadable { shown: source.shown.clone(), reason: SAME_NAME.to_owned() });
        }
        same
    });
    chosen.unreadable.sort_by(|left, right| left.shown.cmp(&right.shown));
    chosen
}

/// Why a file is not read whose name can't be told from another's.
const SAME_NAME: &str = "its name has bytes that are no text, and another file is shown under the same name; rename it";

/// A reason in plain words.
pub fn reason(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        io::ErrorKind::PermissionDenied => "reading it is not allowed".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        _ => error.to_string(),
    }
}

#[derive(Clone)]
struct Rules {
    globs: Arc<Globs>,
    root: PathBuf,
}

impl Rules {
    /// A real path relative to the settings file; none outside of its folder, where its globs do not reach.
    fn relative(&self, real: &Path) -> Option<String> {
        real.strip_prefix(&self.root).ok().map(|path| shown(path, Path::new("")))
    }
}

struct Choice<'p> {
    working: &'p Path,
    globs: Option<Rules>,
    /// How many folders deep is looked; no end where there is none.
    depth: Option<usize>,
    /// By real path, so that a file named twice is taken once.
    sources: FxHashMap<OsString, Source>,
    chosen: Chosen,
}

impl Choice<'_> {
    fn takes(&self, real: &Path) -> bool {
        let Some(rules) = &self.globs else { return true };
        rules.relative(real).is_none_or(|path| rules.globs.take(&path))
    }

    fn folder(&mut self, named: &Path, real: &Path) {
        let rules = self.globs.clone();
        let entries = WalkBuilder::new(real)
            .standard_filters(false)
            .hidden(true)
            .max_depth(self.depth)
            .follow_links(false)
            .filter_entry(move |entry| !is_left_out(rules.as_ref(), entry))
            .build();
        let before = (self.sources.len(), self.chosen.unreadable.len());
        let mut repeated = false;
        for entry in entries {
            match entry {
                Ok(entry) if is_rig_name(entry.path()) => repeated |= self.entry(&entry, named, real),
                Ok(_) => {}
                Err(error) => {
                    let path = path_of(&error).map_or_else(|| named.to_owned(), |path| beneath(named, real, path));
                    let reason = error.io_error().map_or_else(|| error.to_string(), reason);
                    self.unreadable(&path, reason);
                }
            }
        }
        if !repeated && before == (self.sources.len(), self.chosen.unreadable.len()) {
            let shown = shown(named, self.working);
            self.chosen.left.push(Left::Folder(if shown.is_empty() { ".".to_owned() } else { shown }));
        }
    }

    /// Takes an entry that is called like a rig file, and says whether it was taken before.
    fn entry(&mut self, entry: &DirEntry, named: &Path, real: &Path) -> bool {
        if !self.takes(entry.path()) {
            return false;
        }
        let path = beneath(named, real, entry.path());
        match entry.file_type() {
            Some(kind) if kind.is_file() => {
                let source = Source { shown: shown(&path, self.working), path };
                self.sources.insert(entry.path().as_os_str().to_owned(), source).is_some()
            }
            Some(kind) if kind.is_symlink() => {
                match entry.path().canonicalize() {
                    // What it leads to is met on its own.
                    Ok(target) if target.starts_with(real) && (is_rig_name(&target) || target.is_dir()) => {}
                    Ok(_) => {
                        self.unreadable(&path, "it is a link, and links are not followed; name the file itself".into())
                    }
                    Err(_) => self.unreadable(&path, "it is a link that leads nowhere".into()),
                }
                false
            }
            Some(kind) if !kind.is_dir() => {
                self.unreadable(&path, SPECIAL.into());
                false
            }
            _ => false,
        }
    }

    fn unreadable(&mut self, path: &Path, reason: String) {
        self.chosen.unreadable.push(Unreadable { shown: shown(path, self.working), reason });
    }
}

fn is_left_out(rules: Option<&Rules>, entry: &DirEntry) -> bool {
    let is_folder = entry.file_type().is_some_and(|kind| kind.is_dir());
    let Some(rules) = rules.filter(|_| is_folder && entry.depth() > 0) else { return false };
    rules.relative(entry.path()).is_some_and(|path| rules.globs.leave_out_folder(&path))
}

fn is_rig_name(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default().as_encoded_bytes();
    ENDINGS.iter().any(|ending| name.len() > ending.len() && name.ends_with(ending.as_bytes()))
}

/// A path that was met under the real folder, as it is below the folder that was named.
fn beneath(named: &Path, real: &Path, met: &Path) -> PathBuf {
    match met.strip_prefix(real) {
        Ok(rest) if rest.as_os_str().is_empty() => named.to_owned(),
        Ok(rest) => named.join(rest),
        Err(_) => met.to_owned(),
    }
}

fn path_of(error: &ignore::Error) -> Option<&Path> {
    match error {
        ignore::Error::WithPath { path, .. } => Some(path),
        ignore::Error::WithDepth { err, .. } | ignore::Error::WithLineNumber { err, .. } => path_of(err),
        ignore::Error::Loop { child, .. } => Some(child),
        _ => None,
    }
}
