//! The settings file on its way to the inspection.

use crate::settings::disk;
pub(super) use crate::settings::options::{options, read};
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
