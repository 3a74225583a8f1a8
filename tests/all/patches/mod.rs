//! Mishaps and near misses: patches on the clean fleet of `testdata/fleets/clean`, read from `testdata/mishaps` and
//! `testdata/near-misses`; and mistakes: patches on the sound fleets of many kinds, read from `testdata/mistakes`.
//! The READMEs of `testdata/mishaps` and `testdata/mistakes` tell their form.

pub(crate) mod judged;

use super::testdata::{self, File};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// A patch on the clean fleet and what it gives.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
pub(crate) struct Case {
    /// The rule it is about; a mistake was thought up without looking at the rules, and names them at its findings.
    #[serde(default)]
    pub(crate) rule: String,
    /// What happened, in one or two sentences.
    pub(crate) story: String,
    /// Changes of texts of the clean fleet, in this order.
    #[serde(default, rename = "edit")]
    pub(crate) edits: Vec<Edit>,
    /// Whole files that come in addition.
    #[serde(default, rename = "file")]
    pub(crate) files: Vec<NewFile>,
    /// Files that are not saved as UTF-8: name and encoding, of which `latin-1` is known.
    #[serde(default)]
    pub(crate) saved_as: BTreeMap<String, String>,
    /// What must be found; in a near miss nothing.
    #[serde(default, rename = "finding")]
    pub(crate) findings: Vec<Expected>,
    /// What necessarily comes along, each with its reason; of mishaps only notes.
    #[serde(default)]
    pub(crate) also: Vec<Expected>,
    /// Of a mistake that nobody could see in a text: why.
    pub(crate) unseen: Option<String>,
    /// `mishaps/arming/never`: the path below `testdata`, without its ending.
    #[serde(skip)]
    pub(crate) name: String,
}

/// A change of a text of the clean fleet.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Edit {
    /// The file's name.
    pub(crate) file: String,
    /// A text behind which `find` is looked for.
    pub(crate) after: Option<String>,
    /// The text that is replaced. It stands there once; behind `after` the first one counts.
    pub(crate) find: String,
    /// The text that comes in its place.
    pub(crate) replace: String,
}

/// A file that comes in addition.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct NewFile {
    /// Its name.
    pub(crate) name: String,
    /// All of its text.
    pub(crate) text: String,
}

/// A finding and its place.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Expected {
    /// The rule; the case's own where it is left out.
    pub(crate) rule: Option<String>,
    /// `fault`, `danger`, `caution` or `note`.
    pub(crate) severity: String,
    /// The file it starts in.
    pub(crate) file: String,
    /// A text behind which the line is looked for.
    pub(crate) after: Option<String>,
    /// The line it starts at, without the spaces around it. It stands there once; behind `after` the first one counts.
    pub(crate) line: String,
    /// Words and numbers that its message must hold.
    #[serde(default)]
    pub(crate) says: Vec<String>,
    /// Why it can't be avoided; only with what comes along.
    pub(crate) reason: Option<String>,
}

/// All cases of `testdata/mishaps`, `testdata/near-misses` or of a fleet in `testdata/mistakes`, by name.
///
/// # Errors
/// A file that can't be read or is no case, by its path.
pub(crate) fn cases(folder: &str) -> Result<Vec<Case>, String> {
    let mut found = Vec::new();
    for group in entries(&testdata::folder().join(folder))?.iter().filter(|path| path.is_dir()) {
        for path in entries(group)?.iter().filter(|path| path.extension().is_some_and(|end| end == "toml")) {
            let text = fs::read_to_string(path).map_err(|error| format!("{}: {error}", path.display()))?;
            let mut case: Case = toml::from_str(&text).map_err(|error| format!("{}: {error}", path.display()))?;
            let below = path.strip_prefix(testdata::folder()).unwrap_or(path).with_extension("");
            case.name = below.to_string_lossy().replace('\\', "/");
            found.push(case);
        }
    }
    Ok(found)
}

fn entries(folder: &Path) -> Result<Vec<PathBuf>, String> {
    let list = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    let mut paths: Vec<PathBuf> = list.filter_map(|entry| Some(entry.ok()?.path())).collect();
    paths.sort();
    Ok(paths)
}

impl Case {
    /// The clean fleet with this patch, its files by name.
    ///
    /// # Errors
    /// Which edit does not fit.
    pub(crate) fn patched(&self, clean: &[File]) -> Result<Vec<File>, String> {
        let mut files = clean.to_vec();
        for new in &self.files {
            if files.iter().any(|(name, _)| *name == new.name) {
                return Err(format!("{}: {} is there already", self.name, new.name));
            }
            files.push((new.name.clone(), new.text.clone().into_bytes()));
        }
        for edit in &self.edits {
            let file = files.iter_mut().find(|(name, _)| *name == edit.file);
            let (_, bytes) = file.ok_or_else(|| format!("{}: there is no file {}", self.name, edit.file))?;
            let text = String::from_utf8_lossy(bytes).into_owned();
            let at = place_of(&text, edit.after.as_deref(), &edit.find)
                .map_err(|why| format!("{}: {}: {why}", self.name, edit.file))?;
            let mut made = text;
            made.replace_range(at..at + edit.find.len(), &edit.replace);
            *bytes = made.into_bytes();
        }
        for (name, encoding) in &self.saved_as {
            let file = files.iter_mut().find(|(known, _)| known == name).filter(|_| encoding == "latin-1");
            let (_, bytes) = file.ok_or_else(|| format!("{}: {name} can't be saved as {encoding}", self.name))?;
            let text = String::from_utf8_lossy(bytes).into_owned();
            // The first 256 characters of Unicode are those of Latin-1.
            *bytes = text.chars().map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?')).collect();
        }
        files.sort();
        Ok(files)
    }
}

/// Where a text stands: the only place, or the first behind the only place of `after`.
fn place_of(text: &str, after: Option<&str>, find: &str) -> Result<usize, String> {
    let once = |wanted: &str| match text.match_indices(wanted).collect::<Vec<_>>()[..] {
        [(at, _)] => Ok(at),
        ref places => Err(format!("{wanted:?} stands there {} times", places.len())),
    };
    let Some(after) = after else { return once(find) };
    let from = once(after)? + after.len();
    let at = text.get(from..).and_then(|rest| rest.find(find));
    at.map(|at| from + at).ok_or_else(|| format!("{find:?} does not stand behind {after:?}"))
}

impl Expected {
    /// The number of the line, from 1, in the text of its file.
    ///
    /// # Errors
    /// Why the line is not a certain one.
    pub(crate) fn number(&self, text: &str) -> Result<usize, String> {
        let from = match &self.after {
            None => 0,
            Some(after) => text.get(..place_of(text, None, after)?).unwrap_or_default().lines().count(),
        };
        let mut places =
            text.lines().enumerate().skip(from).filter(|(_, line)| line.trim() == self.line).map(|(at, _)| at + 1);
        let first = places.next().ok_or_else(|| format!("no line {:?} in {}", self.line, self.file))?;
        match self.after.is_none() && places.next().is_some() {
            true => Err(format!("the line {:?} stands in {} more than once", self.line, self.file)),
            false => Ok(first),
        }
    }
}
