//! Which of the texts that a page has open describe the fleet, and how they are inspected.

use crate::fleet::day::Day;
use crate::inspect::{Options, Outcome, Workspace};
use crate::settings::FILE_NAME;
use crate::settings::options::{options, read};
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
        let (settings, faults) = read(text.as_deref());
        let set_up = Some(SetUp { settings: text.clone(), today });
        if self.set_up != set_up {
            let mut options = Options { today, ..options(&settings) };
            settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
            // A note of an older settings file would stay.
            self.workspace = Workspace::with(options);
            self.set_up = set_up;
        }
        if let (Some(name), Some(text)) = (&file, text) {
            self.workspace.note(name, text, faults);
        }
        let folder = file.as_deref().and_then(|name| name.strip_suffix(FILE_NAME)).unwrap_or_default();
        let is_taken = |name: &str| {
            ENDINGS.iter().any(|ending| name.ends_with(ending))
                && name.strip_prefix(folder).is_none_or(|below| settings.globs.take(below))
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
