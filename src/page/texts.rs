//! Which of the texts that a page has open describe the fleet, and how they are inspected.

use crate::findings::known::{Entry, Known};
use crate::fleet::day::Day;
use crate::inspect::{Options, Outcome, Workspace};
use crate::settings::options::{options, read};
use crate::settings::{FILE_NAME, MAX_RECORD_BYTES, Settings, read_record, unreadable_record};
use crate::source::FileId;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The endings of the files that describe a fleet.
const ENDINGS: [&str; 2] = [".rig", ".rig.json"];

/// All texts, and the workspace that is made of them.
#[derive(Debug, Default)]
pub(super) struct Texts {
    /// By name, with `/` between folders.
    all: BTreeMap<String, Arc<[u8]>>,
    pub(super) workspace: Workspace,
    /// How the workspace is set up.
    set_up: Option<SetUp>,
    last: Option<Arc<Outcome>>,
}

/// What the set-up of a workspace is made of.
#[derive(PartialEq, Debug)]
struct SetUp {
    settings: Option<Arc<[u8]>>,
    record: Option<Arc<[u8]>>,
    today: Option<Day>,
}

impl Texts {
    /// Gives a file its text.
    pub(super) fn set(&mut self, name: String, text: &[u8]) {
        self.all.insert(name, text.into());
    }

    /// The settings file: the one that is nearest to the top.
    pub(super) fn settings_file(&self) -> Option<&str> {
        let is_one = |name: &&String| name.rsplit('/').next() == Some(FILE_NAME);
        let found = self.all.keys().filter(is_one).min_by_key(|name| name.matches('/').count());
        found.map(String::as_str)
    }

    /// The name of the record of known findings that the settings name, where it is not among the texts yet.
    pub(super) fn missing_record(&self) -> Option<String> {
        let text = self.all.get(self.settings_file()?)?;
        let name = self.record_name(&read(Some(text)).0)?;
        (!self.all.contains_key(&name)).then_some(name)
    }

    /// What the record is called among the texts that the settings name: it stands below the folder of the settings file.
    fn record_name(&self, settings: &Settings) -> Option<String> {
        Some(format!("{}{}", self.folder(), settings.known_name()?))
    }

    /// The folder of the settings file, with a `/` behind it.
    fn folder(&self) -> &str {
        self.settings_file().and_then(|name| name.strip_suffix(FILE_NAME)).unwrap_or_default()
    }

    /// The entries of the record that match nothing any more.
    pub(super) fn stale(&self, outcome: &Outcome) -> Vec<Entry> {
        let files = self.workspace.names().get(..self.workspace.count()).unwrap_or_default();
        outcome.stale(&self.workspace.options().known, |entry| {
            let name = format!("{}{}", self.folder(), entry.file);
            files.contains(&name) || !self.all.contains_key(&name)
        })
    }

    /// What was found last.
    pub(super) fn last(&self) -> Option<Arc<Outcome>> {
        self.last.clone()
    }

    /// What is found on a day.
    ///
    /// # Errors
    /// What is wrong with the day.
    pub(super) fn outcome(&mut self, today: Option<&str>) -> Result<Arc<Outcome>, String> {
        let today = today.map(Day::parse).transpose().map_err(|error| error.to_string())?;
        let file = self.settings_file().map(str::to_owned);
        let text = file.as_ref().and_then(|name| self.all.get(name)).cloned();
        let (settings, mut faults) = read(text.as_deref());
        let record = self.record_name(&settings);
        let record = record.and_then(|name| Some((self.all.get(&name).cloned()?, name)));
        let set_up = SetUp { settings: text.clone(), record: record.as_ref().map(|(text, _)| text.clone()), today };
        if self.set_up.as_ref() != Some(&set_up) {
            let mut options = Options { today, ..options(&settings) };
            let mut note = None;
            match (&settings.known, record) {
                (Some(named), Some((text, _))) if text.len() > MAX_RECORD_BYTES => {
                    faults.push(unreadable_record(named, &format!("it is larger than {} MiB", MAX_RECORD_BYTES >> 20)));
                }
                (Some(named), Some((text, name))) => {
                    let (entries, faults) = read_record(&text, FileId(0), &named.value);
                    options.known = Known { entries, all: false };
                    note = Some((name, text, faults));
                }
                (Some(named), None) => {
                    faults.push(unreadable_record(named, "it is not among the files that were opened"));
                }
                (None, _) => {}
            }
            settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
            // A note of an older settings file would stay.
            self.workspace = Workspace::with(options);
            self.set_up = Some(set_up);
            for (name, text, faults) in note.into_iter().chain(file.zip(text).map(|(name, text)| (name, text, faults)))
            {
                self.workspace.note(&name, text, faults);
            }
        }
        let folder = self.folder().to_owned();
        let is_taken = |name: &str| {
            ENDINGS.iter().any(|ending| name.ends_with(ending))
                && name.strip_prefix(folder.as_str()).is_none_or(|below| settings.globs.take(below))
        };
        let count = self.workspace.count();
        let known = self.workspace.names().get(..count).unwrap_or_default();
        let gone: Vec<String> =
            known.iter().filter(|name| !self.all.contains_key(*name) || !is_taken(name)).cloned().collect();
        gone.iter().for_each(|name| self.workspace.remove(name));
        for (name, text) in self.all.iter().filter(|(name, _)| is_taken(name)) {
            self.workspace.set(name, text.clone());
        }
        let outcome = self.workspace.outcome();
        self.last = Some(outcome.clone());
        Ok(outcome)
    }
}
