//! The stories of `testdata/fleets`, told by their README: the program finds what stands there, where it stands there,
//! and nothing else.

use crate::testdata::fleet_folder;
use std::path::Path;
use std::process::Command;

/// A finding: file name, severity, rule. The file is empty where the story is in one file only.
type Told = (String, String, String);

/// What the README says that a folder gives: in the table below the folder's heading, `severity` and the rule in backquotes.
fn told(folder: &str) -> Vec<Told> {
    let readme = include_str!("../../testdata/fleets/README.md");
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
    list.sort();
    list
}

/// What the program reports about a path, and its exit status.
fn report(path: &Path) -> (serde_json::Value, i32) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = command.args(["inspect", "--as", "json", "--today", "2027-03-01"]).arg(path).output().unwrap();
    (serde_json::from_slice(&output.stdout).unwrap(), output.status.code().unwrap())
}

/// What the program finds in a folder, and its exit status.
fn found(folder: &str, with_files: bool) -> (Vec<Told>, i32) {
    let (report, status) = report(&fleet_folder(folder));
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
    (list, status)
}

#[test]
fn nothing_is_found_in_the_clean_fleet_folder() {
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

#[test]
fn a_mixed_fleet_is_told_how_to_split_and_the_split_one_is_clean() {
    assert_eq!(found("mixed", true), (told("mixed"), 1));
    let (report, _) = report(&fleet_folder("mixed"));
    let words = "Make two models of it. Keep \"spit laps\" for \"stint\": receiver-number 4, match on, send-on chains as now. \
        Copy it under a new name for \"dunlin\": receiver-number 2, match on, send-on chain 1. \
        Then lock each receiver to the number of its model.";
    assert_eq!(report["findings"][0]["mend"]["text"], words);
    // What the words say stands in the other folder.
    let split = std::fs::read_to_string(fleet_folder("mixed-split").join("models.rig")).unwrap();
    for part in
        ["flies stint\n", "receiver-number 4\n", "send-on chains 1, 2\n", "flies dunlin\n", "receiver-number 2\n"]
    {
        assert_eq!(split.matches(part).count(), 1, "{part}");
    }
    assert_eq!((split.matches("match on").count(), split.matches("send-on chain 1\n").count()), (2, 1));
    assert_eq!(found("mixed-split", true), (vec![], 0));
}

#[test]
fn a_watt_on_two_chains_in_a_region_of_20_dbm_is_written_out_with_the_step_that_fits() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["aircraft.rig", "equipment.rig", "models.rig"] {
        let text = std::fs::read_to_string(fleet_folder("mixed-split").join(name)).unwrap();
        let text = text.replace("region AU", "region DE").replace("adaptive off", "adaptive on");
        let text = text.replace("power 15, 60, 120, 320 mW", "power 10, 20, 60, 1000 mW");
        std::fs::write(folder.path().join(name), text.replace("power 120 mW", "power 1000 mW")).unwrap();
    }
    let (report, status) = report(folder.path());
    let about = |craft: &str| {
        let findings = report["findings"].as_array().unwrap();
        findings.iter().find(|finding| finding["aircraft"][0] == craft).unwrap().clone()
    };
    assert_eq!((status, report["findings"].as_array().unwrap().len()), (1, 2));
    // 10 log10(1000) = 30 dBm and 10 log10(2) = 3.01 dB; the limit is 20 dBm e.i.r.p. in ETSI EN 300 328 V2.2.2, 4.3.1. By
    // the same sum 20 mW make 13.01 + 3.01 + 2 = 18.02 dBm, and 60 mW make 22.79 dBm. On one chain 60 mW make 19.78 dBm.
    for (craft, sum, step) in [
        (
            "stint",
            "1 W a chain (30 dBm) + 3 dB for 2 chains at once + 2 dBi of the antenna make 35 dBm e.i.r.p. (3.17 W)",
            "20 mW",
        ),
        ("dunlin", "1 W a chain (30 dBm) + 2 dBi of the antenna make 32 dBm e.i.r.p. (1.58 W)", "60 mW"),
    ] {
        let finding = about(craft);
        assert_eq!(finding["rule"], "spectrum/power");
        let message = finding["message"].as_str().unwrap();
        assert!(message.starts_with(sum), "{message}");
        assert!(
            message.ends_with(&format!("The highest step that keeps to the region's rules is {step}.")),
            "{message}"
        );
        // How much power is given up is the pilot's to say.
        let first = &finding["mend"]["choices"][0]["edits"][0]["text"];
        assert_eq!((&finding["mend"]["kind"], first), (&"choice".into(), &step.into()));
    }
}

#[test]
fn what_is_not_stated_is_told_beside_the_verdict() {
    let (report_of_clean, _) = report(&fleet_folder("clean"));
    let aircraft = |report: &serde_json::Value| report["aircraft"].as_array().unwrap().clone();
    let whole = |craft: &&serde_json::Value| craft["needs"] == serde_json::json!([]);
    assert_eq!(aircraft(&report_of_clean).iter().filter(whole).count(), 5);
    let folder = tempfile::tempdir().unwrap();
    for name in ["aircraft.rig", "equipment.rig", "models.rig"] {
        let text = std::fs::read_to_string(fleet_folder("mixed-split").join(name)).unwrap();
        let lines = text.lines().filter(|line| !line.contains("power 120 mW") && !line.contains("reach 700 m"));
        std::fs::write(folder.path().join(name), lines.collect::<Vec<_>>().join("\n") + "\n").unwrap();
    }
    let (report, status) = report(folder.path());
    assert_eq!(status, 0);
    for craft in aircraft(&report) {
        assert_eq!(craft["verdict"], "nothing found");
        let model = if craft["name"] == "dunlin" { "spit laps one chain" } else { "spit laps" };
        let power = format!("model \"{model}\" {{ module built-in {{ power N mW }} }}");
        let needs = craft["needs"].as_array().unwrap();
        let statements: Vec<_> = needs.iter().map(|need| need["statement"].as_str().unwrap()).collect();
        assert_eq!(statements, [power.as_str(), "place \"north spit\" { reach N m }"]);
        assert_eq!(needs[1]["rules"], serde_json::json!(["spectrum/bench-power", "spectrum/reach"]));
        assert_eq!((&craft["rules"]["not_asked"], &craft["rules"]["clear"]), (&5.into(), &93.into()));
    }
}
