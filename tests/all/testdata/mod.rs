//! The files of `testdata`: the invented fleets by name, and every rig file below a folder.

use std::fs;
use std::path::{Path, PathBuf};

/// A file of a fleet: name and bytes.
pub(crate) type File = (String, Vec<u8>);

/// The package's `testdata`.
pub(crate) fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata")
}

/// The folder of a fleet.
pub(crate) fn fleet_folder(name: &str) -> PathBuf {
    folder().join("fleets").join(name)
}

/// The names of all fleets, sorted.
pub(crate) fn fleet_names() -> Vec<String> {
    let entries = fs::read_dir(folder().join("fleets")).unwrap().map(|entry| entry.unwrap());
    let folders = entries.filter(|entry| entry.file_type().unwrap().is_dir());
    let mut names: Vec<String> = folders.map(|entry| entry.file_name().into_string().unwrap()).collect();
    names.sort();
    assert!(names.len() >= 3, "{names:?}");
    names
}

/// The files of a fleet, by name.
pub(crate) fn fleet(name: &str) -> Vec<File> {
    let files = rig_files(&fleet_folder(name)).into_iter();
    files.map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&path).unwrap())).collect()
}

/// The texts of a fleet, in the order of their files' names.
pub(crate) fn fleet_texts(name: &str) -> Vec<Vec<u8>> {
    fleet(name).into_iter().map(|(_, text)| text).collect()
}

/// Writes the files of a fleet into a folder.
pub(crate) fn copy_fleet(name: &str, to: &Path) {
    for (name, text) in fleet(name) {
        fs::write(to.join(name), text).unwrap();
    }
}

/// A demo fleet in a folder of its own.
pub(crate) fn copy_fleet_to_temp(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet(name, folder.path());
    folder
}

/// Every rig file below a folder, in path order. There is one at least.
pub(crate) fn rig_files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut folders = vec![folder.to_owned()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rig") {
                found.push(path);
            }
        }
    }
    assert!(!found.is_empty(), "{} has no rig file", folder.display());
    found.sort();
    found
}
