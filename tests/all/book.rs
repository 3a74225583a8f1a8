//! The rule book is whole: it holds every data file of `rules/`, and every rule of it is asked. What walks the book in
//! other checks would pass with an empty one.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use walkaround::rules::all::RULES;
use walkaround::rules::book::BOOK;

/// The groups that the book has at least.
const GROUPS: [&str; 12] = [
    "alarms", "arming", "channels", "failsafe", "format", "handset", "house", "modes", "module", "receiver",
    "spectrum", "throttle",
];

/// The rules that data files below a folder state, by the files' places. Tables of regions and batteries state none.
fn stated(folder: &Path, below: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let place = format!("{below}{}", path.file_stem().unwrap().to_str().unwrap());
        if path.is_dir() {
            found.extend(stated(&path, &format!("{place}/")));
        } else if path.extension().is_some_and(|ending| ending == "toml") {
            let data: toml::Table = toml::from_str(&fs::read_to_string(&path).unwrap()).unwrap();
            if let Some(rule) = data.get("rule") {
                assert_eq!(rule.as_str(), Some(place.as_str()), "{}", path.display());
                found.insert(place);
            }
        }
    }
    found
}

#[test]
fn every_group_has_rules() {
    let groups: BTreeSet<&str> = BOOK.iter().map(|doc| doc.group).collect();
    let missing: Vec<&str> = GROUPS.into_iter().filter(|group| !groups.contains(group)).collect();
    assert!(missing.is_empty(), "no rule of {missing:?} is in the book");
}

#[test]
fn every_data_file_is_in_the_book_and_every_rule_of_the_book_has_one() {
    let files = stated(&Path::new(env!("CARGO_MANIFEST_DIR")).join("rules"), "");
    let book: BTreeSet<String> = BOOK.iter().map(|doc| doc.id.to_owned()).collect();
    assert_eq!(book, files);
    assert_eq!(book.len(), BOOK.len(), "a rule stands in the book twice");
}

/// A rule that is in the book and in no list would be explained to pilots and never found.
#[test]
fn every_rule_of_the_book_is_asked() {
    let asked: BTreeSet<&str> = RULES.iter().map(|rule| rule.id).collect();
    assert_eq!(asked.len(), RULES.len(), "a rule is asked twice");
    // The faults are found while files are read, and what is wrong with waivers where they are applied.
    let elsewhere = |id: &str| id.starts_with("format/") || id.starts_with("house/waiver-");
    let book: BTreeSet<&str> =
        BOOK.iter().map(|doc| doc.id).filter(|id| asked.contains(id) || !elsewhere(id)).collect();
    assert_eq!(asked, book);
}
