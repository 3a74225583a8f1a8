//! Files that are written: beside the old one, then renamed over it, and never through a link that leads elsewhere.

use super::output::tell;
use crate::settings::disk;
use crate::syntax::MAX_BYTES;
use std::io::Write;
use std::path::{Path, PathBuf};
use tempfile::NamedTempFile;

/// A text that is written and waits to take its file's place.
pub(super) struct Written {
    beside: NamedTempFile,
    to: PathBuf,
}

/// Writes what a file is to hold beside it, with the file's permissions. `before` is what it held when it was read.
///
/// # Errors
/// Why that can't be done, in words.
pub(super) fn beside(path: &Path, before: &[u8], after: &[u8]) -> Result<Written, String> {
    let to = path.canonicalize().map_err(|error| error.to_string())?;
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let folder = folder.canonicalize().map_err(|error| error.to_string())?;
    if !to.starts_with(&folder) {
        return Err("it is a link that leads out of its folder; name the file itself".to_owned());
    }
    let metadata = to.metadata().map_err(|error| error.to_string())?;
    if metadata.permissions().readonly() {
        return Err("it is protected against writing".to_owned());
    }
    if disk::read(&to, MAX_BYTES).map_err(|error| error.to_string())? != before {
        return Err("it was changed by something else in the meantime".to_owned());
    }
    let write = || {
        let mut beside = NamedTempFile::with_prefix_in(".walkaround-", to.parent().unwrap_or(&folder))?;
        beside.write_all(after)?;
        beside.as_file().set_permissions(metadata.permissions())?;
        beside.as_file().sync_all()?;
        Ok(beside)
    };
    let beside = write().map_err(|error: std::io::Error| format!("it can't be written: {error}"))?;
    Ok(Written { beside, to })
}

/// Writes several files: nothing takes its place before all are written. Tells what went wrong, and says whether
/// everything was written.
pub(super) fn write_all<'f>(files: impl IntoIterator<Item = (&'f Path, &'f [u8], &'f [u8])>) -> bool {
    let mut written = Vec::new();
    let mut well = true;
    for (path, before, after) in files {
        match beside(path, before, after) {
            Ok(file) => written.push(file),
            Err(why) => {
                tell(&format!("{} is not written: {why}", path.display()));
                well = false;
            }
        }
    }
    if !well {
        tell("no file was changed");
        return false;
    }
    for Written { beside, to } in written {
        if let Err(error) = beside.persist(&to) {
            tell(&format!("{} is not written: {}", to.display(), error.error));
            well = false;
        }
    }
    well
}
