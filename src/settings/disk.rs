//! Settings and rig files on the disk: where they are found, which are taken, and their bytes.

mod choose;

pub use choose::{Chosen, Left, Source, Unreadable, choose, choose_beside, reason};

use super::FILE_NAME;
use std::fs::File;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Names of rig files end so.
pub const ENDINGS: [&str; 2] = [".rig", ".rig.json"];

/// The settings file that holds for a path: the nearest one in its folder or above, up to the folder that has a `.git`.
/// Outside of a repository the search ends at the folder `working` if the path lies below it, and else in the path's
/// own folder, so that no file far away has a say.
///
/// # Errors
/// When the path can't be found.
pub fn find_settings(path: &Path, working: &Path) -> io::Result<Option<PathBuf>> {
    let path = path.canonicalize()?;
    let folder = if path.is_dir() { path.as_path() } else { path.parent().unwrap_or(&path) };
    let working = working.canonicalize()?;
    let repository = folder.ancestors().find(|above| above.join(".git").exists());
    let top = repository.unwrap_or(if folder.starts_with(&working) { &working } else { folder });
    let mut folders = folder.ancestors().take_while(|above| above.starts_with(top));
    Ok(folders.find_map(|above| Some(above.join(FILE_NAME)).filter(|file| file.is_file())))
}

/// The bytes of a file, at most one more than `limit`: enough to see that it is too large, and never without end.
///
/// # Errors
/// When it can't be opened or read, and when it is no file that holds its bytes: opening a pipe that nobody writes to
/// would wait for ever.
pub fn read(path: &Path, limit: usize) -> io::Result<Vec<u8>> {
    if is_special(&std::fs::metadata(path)?) {
        return Err(io::Error::other(SPECIAL));
    }
    let file = File::open(path)?;
    let metadata = file.metadata()?;
    if metadata.is_dir() {
        return Err(io::Error::from(io::ErrorKind::IsADirectory));
    }
    let most = limit as u64 + 1;
    let mut bytes = Vec::with_capacity(metadata.len().min(most) as usize);
    file.take(most).read_to_end(&mut bytes)?;
    Ok(bytes)
}

/// The same for a file that [`choose`] found: it is known to be a file, so that it need not be looked at first. The bytes go
/// to the start of `buffer`, which grows as it has to and can be used again; how many there are is given back.
///
/// # Errors
/// When it can't be opened or read.
pub fn read_chosen(source: &Source, limit: usize, buffer: &mut Vec<u8>) -> io::Result<usize> {
    let mut file = File::open(&source.path)?.take(limit as u64 + 1);
    let mut filled = 0;
    // Reading to the end by hand: the standard library would ask for the file's size first.
    loop {
        if filled == buffer.len() {
            buffer.resize((2 * filled).max(USUAL), 0);
        }
        match file.read(buffer.get_mut(filled..).unwrap_or_default()) {
            Ok(0) => return Ok(filled),
            Ok(read) => filled += read,
            Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
}

/// A buffer that takes most rig files at once, in bytes.
const USUAL: usize = 16 << 10;

/// Why a pipe, a socket or a device is not read, in words that can stand behind a colon.
const SPECIAL: &str = "it is a pipe or a device, no file; `-` reads standard input";

/// Whether it is neither a file nor a folder.
fn is_special(metadata: &std::fs::Metadata) -> bool {
    !metadata.is_file() && !metadata.is_dir()
}

/// A path as it is shown: relative to the folder `working` if it lies below it, with `/` between folders.
pub fn shown(path: &Path, working: &Path) -> String {
    let near = path.strip_prefix(working).unwrap_or(path);
    let near = near.strip_prefix(".").unwrap_or(near);
    let text = near.to_string_lossy();
    match std::path::MAIN_SEPARATOR {
        '/' => text.into_owned(),
        separator => without_prefix(&text.replace(separator, "/")),
    }
}

/// A full path of Windows as people write it: asked for a real path, that system puts `//?/` before it, and `//?/UNC/` before the
/// name of another machine.
fn without_prefix(path: &str) -> String {
    match path.strip_prefix("//?/") {
        Some(path) => path.strip_prefix("UNC/").map_or_else(|| path.to_owned(), |share| format!("//{share}")),
        None => path.to_owned(),
    }
}

#[cfg(test)]
mod tests;
