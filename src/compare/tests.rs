//! The same gives nothing, in whatever layout, and no mishap passes in silence.

use super::*;
use crate::fleet::day::Day;
use crate::inspect::Options;
use std::fs;
use std::path::{Path, PathBuf};

type File = (String, String);

fn testdata(below: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(below)
}

fn entries(folder: &Path) -> Vec<PathBuf> {
    let mut paths: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

fn clean() -> Vec<File> {
    let is_rig = |path: &PathBuf| path.extension().is_some_and(|ending| ending == "rig");
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    let rigs = entries(&testdata("fleets/clean")).into_iter().filter(is_rig);
    rigs.map(|path| (name(&path), fs::read_to_string(&path).unwrap())).collect()
}

fn workspace(files: &[File]) -> Workspace {
    let mut workspace = Workspace::new();
    workspace.settings(Options { today: Day::new(2026, 11, 25), ..Options::default() });
    files.iter().for_each(|(name, text)| workspace.set(name, text.as_bytes()));
    workspace
}

fn compared(new: &[File]) -> Comparison {
    compare(&mut workspace(&clean()), &mut workspace(new))
}

#[test]
fn the_same_is_the_same() {
    let found = compared(&clean());
    assert!(found.subjects.is_empty() && found.came.is_empty() && found.went.is_empty(), "{found:#?}");
    assert!(found.same > 3);
}

#[test]
fn layout_and_comments_count_for_nothing() {
    let laid = |text: &str| text.replace("\n  ", "\n\n      ").replace("rig 1\n", "rig 1\n\n# A remark.\n");
    let files: Vec<File> = clean().into_iter().map(|(name, text)| (name, laid(&text))).collect();
    let found = compared(&files);
    assert!(found.subjects.is_empty(), "{:#?}", found.subjects);
}

/// The clean fleet with the mishap of a file in it; none where that is not saved as UTF-8.
fn with_mishap(path: &Path) -> Option<Vec<File>> {
    let case: toml::Table = toml::from_str(&fs::read_to_string(path).unwrap()).unwrap();
    if case.contains_key("saved-as") {
        return None;
    }
    let list = |key: &str| case.get(key).and_then(|it| it.as_array()).cloned().unwrap_or_default();
    let mut files = clean();
    for file in list("file") {
        files.push((file["name"].as_str().unwrap().to_owned(), file["text"].as_str().unwrap().to_owned()));
    }
    for edit in list("edit") {
        let [file, find, replace] = ["file", "find", "replace"].map(|key| edit[key].as_str().unwrap().to_owned());
        let text = &mut files.iter_mut().find(|(known, _)| *known == file).unwrap().1;
        let after = edit.get("after").map_or("", |after| after.as_str().unwrap());
        let from = text.find(after).unwrap() + after.len();
        let at = from + text[from..].find(&find).unwrap();
        text.replace_range(at..at + find.len(), &replace);
    }
    Some(files)
}

#[test]
fn no_mishap_passes_in_silence() {
    let mut silent = Vec::new();
    let groups = entries(&testdata("mishaps")).into_iter().filter(|path| path.is_dir());
    for path in groups.flat_map(|group| entries(&group)) {
        let Some(files) = with_mishap(&path) else { continue };
        let found = compared(&files);
        // A mishap that stands in a comment alone does nothing to the aircraft; it is told as a finding.
        if found.subjects.is_empty() && found.came.is_empty() && found.went.is_empty() {
            silent.push(path);
        }
    }
    assert!(silent.is_empty(), "{silent:#?}");
}
