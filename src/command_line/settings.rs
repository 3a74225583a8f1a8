//! The settings file on its way to the inspection.

use crate::findings::Finding;
use crate::inspect::Options;
use crate::rules::book::{self, ParameterDoc};
use crate::rules::parameters::{self, Parameters};
use crate::settings::disk;
use crate::settings::{self, Settings};
use crate::source::FileId;
use std::io;
use std::path::{Path, PathBuf};

/// Which settings file holds.
#[derive(clap::Args, Clone, Default)]
pub(super) struct Choice {
    /// Obey this settings file instead of the walkaround.toml that is found; its globs start from its own folder
    #[arg(long = "settings", value_name = "FILE", conflicts_with = "no_settings")]
    file: Option<PathBuf>,
    /// Obey no settings file
    #[arg(long)]
    no_settings: bool,
}

impl Choice {
    /// The settings file that holds for a path, with its full name; none where there is none.
    ///
    /// # Errors
    /// When one that is named can't be found.
    pub(super) fn file_for(&self, path: &Path, working: &Path) -> io::Result<Option<PathBuf>> {
        match &self.file {
            Some(file) => file.canonicalize().map(Some),
            None if self.no_settings => Ok(None),
            // A path that is not there is told when the files are chosen.
            None => Ok(disk::find_settings(path, working).ok().flatten()),
        }
    }

    /// The file that is named.
    pub(super) fn named(&self) -> Option<&Path> {
        self.file.as_deref()
    }
}

/// Reads the settings' text; its faults get the number of the file later.
pub(super) fn read(text: Option<&[u8]>) -> (Settings, Vec<Finding>) {
    let check = |parameter: &'static ParameterDoc, value: &str| {
        let rule = book::BOOK.iter().find(|doc| doc.parameters.iter().any(|known| std::ptr::eq(known, parameter)));
        rule.map_or(Ok(()), |rule| parameters::check(rule.id, parameter.name, value))
    };
    match text {
        Some(text) => settings::read(text, FileId(0), &check),
        None => (Settings::default(), Vec::new()),
    }
}

/// The parameters that the settings change.
pub(super) fn parameters(settings: &Settings) -> Parameters {
    let mut parameters = Parameters::default();
    for parameter in &settings.parameters {
        parameters.set(parameter.rule, parameter.name, &parameter.value.value);
    }
    parameters
}

/// What the settings say about an inspection that asks every rule.
pub(super) fn options(settings: &Settings) -> Options {
    Options {
        default_place: settings.place.as_ref().map(|place| place.value.clone()),
        parameters: parameters(settings),
        tested: settings.tested.clone(),
        ..Options::default()
    }
}
