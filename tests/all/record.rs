//! The record of known findings: written, read again, and never a way to hide what must be seen.
#![cfg(unix)]

use crate::testdata::copy_fleet;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// A copy of a demo fleet with a settings file.
struct Fleet {
    folder: TempDir,
}

impl Fleet {
    fn new(name: &str, settings: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        copy_fleet(name, folder.path());
        let fleet = Self { folder };
        fleet.write("walkaround.toml", settings);
        fleet
    }

    /// A fleet whose findings are all recorded, in known.toml.
    fn recorded(name: &str) -> Self {
        let fleet = Self::new(name, "known = \"known.toml\"\n");
        fleet.run(&["--record", "known.toml"]);
        fleet
    }

    fn write(&self, file: &str, text: &str) {
        fs::write(self.folder.path().join(file), text).unwrap();
    }

    fn read(&self, file: &str) -> String {
        fs::read_to_string(self.folder.path().join(file)).unwrap()
    }

    /// Changes a text that stands once in a file.
    fn edit(&self, file: &str, old: &str, new: &str) {
        let text = self.read(file);
        assert_eq!(text.matches(old).count(), 1, "{old} in {file}");
        self.write(file, &text.replace(old, new));
    }

    fn run(&self, arguments: &[&str]) -> Output {
        self.run_in(self.folder.path(), arguments)
    }

    fn run_in(&self, folder: &Path, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_walkaround"))
            .args(["inspect", "--today", "2027-03-01"])
            .args(arguments)
            .current_dir(folder)
            .output()
            .unwrap()
    }

    fn json(&self, arguments: &[&str]) -> (Value, i32) {
        let output = self.run(&[&["--as", "json"], arguments].concat());
        (serde_json::from_slice(&output.stdout).unwrap(), output.status.code().unwrap())
    }
}

fn count(report: &Value, list: &str) -> usize {
    report[list].as_array().unwrap().len()
}

fn rules(report: &Value) -> Vec<&str> {
    report["findings"].as_array().unwrap().iter().map(|finding| finding["rule"].as_str().unwrap()).collect()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn what_is_recorded_is_left_out_and_counted() {
    let fleet = Fleet::new("hurried", "");
    let (before, status) = fleet.json(&[]);
    let found = count(&before, "findings");
    assert!(found > 5 && status == 1);
    let output = fleet.run(&["--record", "known.toml"]);
    assert_eq!(output.status.code(), Some(0));
    let told = text(&output.stderr);
    let dangers = before["counts"]["danger"].as_u64().unwrap();
    let words = format!("{found} findings are recorded as known in known.toml, {dangers} of them dangers\n");
    assert!(dangers > 1 && told.contains(&words), "{told}");
    assert!(told.contains("it counts once walkaround.toml says known = \"known.toml\""), "{told}");
    assert_eq!(fleet.json(&[]).1, 1, "the settings do not name it yet");

    fleet.write("walkaround.toml", "known = \"known.toml\"\n");
    let (after, status) = fleet.json(&[]);
    assert_eq!((count(&after, "findings"), count(&after, "known_stale"), status), (0, 0, 0));
    assert_eq!(after["known"], found);
    let verdicts = after["aircraft"].as_array().unwrap();
    for (aircraft, before) in verdicts.iter().map(|one| (one, find(&before, one))) {
        let expected = if before["verdict"] == "nothing found" { "nothing found" } else { "nothing new" };
        assert_eq!(aircraft["verdict"], expected, "{aircraft}");
    }
    let page = text(&fleet.run(&[]).stdout);
    assert!(page.contains(&format!(": nothing new; {found} findings known; ")), "{page}");
    assert!(page.contains("propellers off"));
    for form in ["text", "lines", "sarif", "annotations"] {
        assert_eq!(fleet.run(&["--as", form]).status.code(), Some(0), "{form}");
    }
    let log: Value = serde_json::from_slice(&fleet.run(&["--as", "sarif"]).stdout).unwrap();
    assert_eq!(log["runs"][0]["properties"]["known"], found);
    // From the folder above it is the same.
    let above = fleet.folder.path().parent().unwrap();
    let output = fleet.run_in(above, &[fleet.folder.path().file_name().unwrap().to_str().unwrap()]);
    assert_eq!(output.status.code(), Some(0));
}

/// The aircraft of the same name in another report.
fn find<'r>(report: &'r Value, like: &Value) -> &'r Value {
    report["aircraft"].as_array().unwrap().iter().find(|one| one["name"] == like["name"]).unwrap()
}

#[test]
fn recording_again_changes_nothing() {
    let fleet = Fleet::recorded("hurried");
    let first = fleet.read("known.toml");
    fleet.run(&["--record", "known.toml"]);
    assert_eq!(fleet.read("known.toml"), first);
    let above = fleet.folder.path().parent().unwrap();
    let name = fleet.folder.path().file_name().unwrap().to_str().unwrap();
    fleet.run_in(above, &["--record", &format!("{name}/known.toml"), name]);
    assert_eq!(fleet.read("known.toml"), first);
    let files: Vec<&str> = first.lines().filter(|line| line.starts_with("file = ")).collect();
    assert!(files.is_sorted() && files.contains(&"file = \"knot.rig\""), "{files:?}");
    // No file is left over.
    assert!(
        fs::read_dir(fleet.folder.path())
            .unwrap()
            .all(|entry| { !entry.unwrap().file_name().to_string_lossy().starts_with('.') })
    );
}

#[test]
fn edits_elsewhere_and_new_file_names_change_nothing() {
    let fleet = Fleet::recorded("hurried");
    let text = fleet.read("knot.rig");
    fs::remove_file(fleet.folder.path().join("knot.rig")).unwrap();
    fleet.write("renamed.rig", &text.replacen("rig 1\n", "rig 1\n\n# A comment.\n\n", 1));
    let (report, status) = fleet.json(&[]);
    assert_eq!((rules(&report), count(&report, "known_stale"), status), (vec![], 0, 0));
}

#[test]
fn a_new_finding_is_told_alone() {
    let fleet = Fleet::recorded("hurried");
    let known = fleet.json(&[]).0["known"].clone();
    fleet.edit("places.rig", "  reach 2 km", "  # waive arming/slow\n  reach 2 km");
    fleet.edit("places.rig", "rig 1\n", "rig 1\n# wifi password: kR7#vq2Lx9\n");
    let (report, status) = fleet.json(&[]);
    assert_eq!((rules(&report), status), (vec!["house/secret", "house/waiver-bare"], 1));
    assert_eq!(report["known"], known);
}

#[test]
fn a_finding_that_got_worse_is_told() {
    let fleet = Fleet::new("hurried", "known = \"known.toml\"\n[severity]\nchannels = \"note\"\n");
    fleet.run(&["--record", "known.toml"]);
    assert_eq!(fleet.json(&[]).1, 0);
    fleet.write("walkaround.toml", "known = \"known.toml\"\n");
    let (report, status) = fleet.json(&[]);
    assert_eq!((rules(&report), count(&report, "known_stale"), status), (vec!["channels/order"], 0, 1));
}

#[test]
fn an_entry_that_matches_nothing_is_told_where_that_is_certain() {
    let fleet = Fleet::recorded("hurried");
    let order = fleet.read("knot.rig");
    let wrong = order.lines().find(|line| line.trim().starts_with("order ")).unwrap().to_owned();
    fleet.edit("knot.rig", &wrong, "    order A E T R");
    let stale = |arguments: &[&str]| {
        let (report, status) = fleet.json(arguments);
        let stale: Vec<_> = report["known_stale"].as_array().unwrap().iter().map(|one| one["rule"].clone()).collect();
        (stale, status)
    };
    assert_eq!(stale(&[]), (vec!["channels/order".into()], 0));
    let page = text(&fleet.run(&[]).stdout);
    assert!(
        page.contains("1 entry of the record of known findings matches nothing any more: channels/order in"),
        "{page}"
    );
    let told = text(&fleet.run(&["--as", "lines"]).stderr);
    assert!(told.contains("matches nothing any more"), "{told}");
    // Its rule is not asked.
    assert_eq!(stale(&["--except", "channels"]).0, Vec::<Value>::new());
    // Beside a file the rest of its folder is read, so that it is as certain there.
    assert_eq!(stale(&["places.rig"]).0, vec![Value::from("channels/order")]);
    // A fault may hide findings.
    fleet.edit("places.rig", "reach 2 km", "reach 2 km\n  timmer");
    assert_eq!(stale(&[]), (vec![], 2));
    fleet.edit("places.rig", "\n  timmer", "");
    // Recording again takes it out.
    fleet.run(&["--record", "known.toml"]);
    assert_eq!(stale(&[]), (vec![], 0));
    assert!(!fleet.read("known.toml").contains("channels/order"));
    // So does a file that is gone.
    fs::remove_file(fleet.folder.path().join("plover.rig")).unwrap();
    assert_eq!(stale(&[]).0, ["handset/stick-filter"]);
}

#[test]
fn recording_a_part_keeps_the_rest() {
    let fleet = Fleet::recorded("hurried");
    let all = fleet.read("known.toml");
    let output = fleet.run(&["--record", "known.toml", "--rules", "channels"]);
    assert_eq!(fleet.read("known.toml"), all);
    assert!(text(&output.stderr).contains(" that this run did not look for are kept"), "{}", text(&output.stderr));
}

#[test]
fn faults_and_waivers_are_never_recorded() {
    let fleet = Fleet::new("newcomer", "known = \"known.toml\"\n");
    fleet.edit("avocet.rig", "  flown-at", "  # waive alarms/no-limit\n  flown-at");
    let output = fleet.run(&["--record", "known.toml"]);
    assert_eq!(output.status.code(), Some(2));
    let record = fleet.read("known.toml");
    assert!(record.contains("rule = \"arming/momentary\""), "{record}");
    assert!(!record.contains("rule = \"format/") && !record.contains("rule = \"house/waiver"), "{record}");
    let (report, status) = fleet.json(&[]);
    assert_eq!(status, 2);
    let left = rules(&report);
    assert!(left.contains(&"house/waiver-bare") && left.contains(&"format/unit"), "{left:?}");
    // An entry written by hand does not hide them either.
    let fault = report["findings"].as_array().unwrap().iter().find(|one| one["rule"] == "format/unit").unwrap();
    let entry = format!(
        "\n[[finding]]\nrule = \"format/unit\"\nseverity = \"danger\"\nfingerprint = {}\n",
        fault["fingerprint"]
    );
    fleet.write("known.toml", &(record + &entry));
    assert_eq!(rules(&fleet.json(&[]).0), left);
}

#[test]
fn a_broken_record_is_shown_like_any_other_text() {
    let fleet = Fleet::recorded("hurried");
    fleet.edit("known.toml", "version = 1\n", "version = 1\n<<<<<<< ours\n");
    let output = fleet.run(&[]);
    assert_eq!(output.status.code(), Some(2));
    let page = text(&output.stdout);
    assert!(page.contains("fault: format/settings") && page.contains("╭─[known.toml:5:"), "{page}");
    assert!(page.contains("<<<<<<< ours"), "{page}");
}

#[test]
fn a_record_that_cannot_be_read_is_a_fault_at_the_line_that_names_it() {
    let fleet = Fleet::new("hurried", "known = \"no such.toml\"\n");
    let outside = tempfile::tempdir().unwrap();
    let file = outside.path().join("outside.toml");
    fs::write(&file, "a secret that must not be shown").unwrap();
    std::os::unix::fs::symlink(&file, fleet.folder.path().join("link.toml")).unwrap();
    let above = format!("../{}/outside.toml", outside.path().file_name().unwrap().to_str().unwrap());
    for name in ["no such.toml", &above, file.to_str().unwrap(), "link.toml", "."] {
        fleet.write("walkaround.toml", &format!("known = \"{name}\"\n"));
        let output = fleet.run(&[]);
        assert_eq!(output.status.code(), Some(2), "{name}");
        let page = text(&output.stdout);
        assert!(page.contains("can't be read") && page.contains("╭─[walkaround.toml:1:9]"), "{page}");
        assert!(!page.contains("a secret"), "{page}");
    }
}

#[test]
fn no_other_file_is_written_over() {
    let fleet = Fleet::new("hurried", "");
    fleet.write("notes.txt", "mine");
    fleet.write("empty.toml", "");
    std::os::unix::fs::symlink("empty.toml", fleet.folder.path().join("link.toml")).unwrap();
    let settings = fleet.read("walkaround.toml");
    for name in ["notes.txt", "knot.rig", "new.rig", "new.rig.json", "walkaround.toml", "link.toml", "."] {
        let output = fleet.run(&["--record", name]);
        assert_eq!(output.status.code(), Some(64), "{name}");
        assert!(text(&output.stderr).contains("--record"), "{}", text(&output.stderr));
    }
    assert_eq!(fleet.read("notes.txt"), "mine");
    assert_eq!((fleet.read("empty.toml").as_str(), fleet.read("walkaround.toml")), ("", settings));
    assert_eq!(fleet.run(&["--record", "empty.toml"]).status.code(), Some(0));
    assert!(fleet.read("empty.toml").contains("[[finding]]"));
    assert_eq!(fleet.run(&["--record", "nowhere/known.toml"]).status.code(), Some(2));
    assert_eq!(fleet.run(&["--record", "known.toml", "-"]).status.code(), Some(64));
}

#[test]
fn names_are_written_as_escapes() {
    let fleet = Fleet::new("hurried", "known = \"known.toml\"\n");
    let knot = fleet.read("knot.rig");
    fleet.write("kn\u{1b}[31mot\u{202e}.rig", &knot.replace("\"knot\"", "\"kn\\u{1b}ot\""));
    fs::remove_file(fleet.folder.path().join("knot.rig")).unwrap();
    fleet.run(&["--record", "known.toml"]);
    let record = fleet.read("known.toml");
    assert!(record.contains("file = \"kn\\U0000001B[31mot\\U0000202E.rig\""), "{record}");
    assert!(!record.chars().any(|c| (c.is_control() && c != '\n') || c == '\u{202e}'));
    let (report, status) = fleet.json(&[]);
    assert_eq!((count(&report, "findings"), count(&report, "known_stale"), status), (0, 0, 0));
}
