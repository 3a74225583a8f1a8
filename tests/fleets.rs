//! The three stories of `testdata/fleets`, told by their README: the program finds what stands there, where it stands there,
//! and nothing else.
#![cfg(feature = "command-line")]
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;
use walkaround::rules::all::RULES;

/// A finding: file name, severity, rule. The file is empty where the story is in one file only.
type Told = (String, String, String);

/// Whether the program has this rule. The stories tell of some rules before they are written.
fn asked(rule: &str) -> bool {
    rule.starts_with("format/") || RULES.iter().any(|known| known.id == rule)
}

/// What the README says that a folder gives: in the table below the folder's heading, `severity` and the rule in backquotes.
fn told(folder: &str) -> Vec<Told> {
    let readme = include_str!("../testdata/fleets/README.md");
    let (_, story) = readme.split_once(&format!("\n## {folder}\n")).unwrap();
    let story = story.split("\n## ").next().unwrap();
    let mut list = Vec::new();
    for row in story.lines().filter(|line| line.starts_with('|')) {
        let cells: Vec<&str> = row.trim_matches('|').split('|').map(str::trim).collect();
        let file = if cells[0].ends_with(".rig") { cells[0] } else { "" };
        for severity in ["fault", "danger", "caution", "note"] {
            for part in cells.last().unwrap().split(&format!("{severity} `")).skip(1) {
                let rule = part.split('`').next().unwrap();
                list.push((file.to_string(), severity.to_string(), rule.to_string()));
            }
        }
    }
    list.retain(|(_, _, rule)| asked(rule));
    list.sort();
    list
}

/// What the program finds in a folder, and its exit status.
fn found(folder: &str, with_files: bool) -> (Vec<Told>, i32) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fleets").join(folder);
    let output = Command::new(env!("CARGO_BIN_EXE_walkaround"))
        .args(["inspect", "--as", "json", "--today", "2027-03-01"])
        .arg(&path)
        .output()
        .unwrap();
    let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = |value: &serde_json::Value| value.as_str().unwrap().to_string();
    let mut list: Vec<Told> = report["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|finding| {
            let file = text(&finding["place"]["file"]);
            let file = if with_files { file.rsplit('/').next().unwrap().to_string() } else { String::new() };
            (file, text(&finding["severity"]), text(&finding["rule"]))
        })
        .collect();
    list.sort();
    (list, output.status.code().unwrap())
}

#[test]
fn nothing_is_found_in_the_clean_fleet() {
    assert_eq!(found("clean", true), (vec![], 0));
}

#[test]
fn the_six_slips_of_the_hurried_evening_are_found() {
    let told = told("hurried");
    assert!(!told.is_empty());
    assert_eq!(found("hurried", true), (told, 1));
}

#[test]
fn the_newcomers_first_mistakes_are_found() {
    let told = told("newcomer");
    assert!(told.len() >= 3);
    assert_eq!(found("newcomer", false), (told, 2));
}
