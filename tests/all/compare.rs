//! What a change does to the aircraft: every mishap tells what it changes, what is shown replays on both sides, and one moved switch
//! is told in a few lines.

use crate::patches::judged::options;
use crate::patches::{Case, cases};
use crate::program::run;
use crate::testdata::{File, fleet};
use crate::trace::as_arguments;
use rayon::prelude::*;
use serde_json::Value;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use tempfile::TempDir;
use walkaround::compare::{Comparison, compare};
use walkaround::inspect::Workspace;
use walkaround::report::compare as report;
use walkaround::report::paint::Paint;

/// Files as a workspace. A settings file among them is obeyed.
pub(crate) fn workspace(files: &[File]) -> Workspace {
    let (options, faults) = options(files);
    let mut workspace = Workspace::with(options);
    let rigs = files.iter().filter(|(name, _)| name.ends_with(".rig"));
    rigs.for_each(|(name, text)| workspace.set(name, text.as_slice()));
    if let Some((name, text)) = files.iter().find(|(name, _)| name.ends_with(".toml") && !faults.is_empty()) {
        workspace.note(name, text.as_slice(), faults);
    }
    workspace
}

pub(crate) fn compared(old: &[File], new: &[File]) -> Comparison {
    compare(&mut workspace(old), &mut workspace(new))
}

/// What is told of a comparison.
pub(crate) fn told(comparison: &Comparison) -> String {
    let mut out = Vec::new();
    report::write(comparison, ["before", "now"], Paint(false), 110, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// The clean fleet with one text replaced, which stands once in its file.
fn edited(file: &str, old: &str, new: &str) -> Vec<File> {
    let mut files = fleet("clean");
    let (_, text) = files.iter_mut().find(|(name, _)| name == file).unwrap();
    let before = String::from_utf8(text.clone()).unwrap();
    assert_eq!(before.matches(old).count(), 1, "{old} in {file}");
    *text = before.replace(old, new).into_bytes();
    files
}

/// What is told of the clean fleet with one text replaced, without the empty lines.
fn lines(file: &str, old: &str, new: &str) -> Vec<String> {
    let told = told(&compared(&fleet("clean"), &edited(file, old, new)));
    told.lines().filter(|line| !line.trim().is_empty()).map(str::to_owned).collect()
}

/// Nothing is silent, and what is not decided is named here with why it can't be.
#[test]
fn every_mishap_tells_what_it_changes() {
    let clean = fleet("clean");
    let all: Vec<Case> = cases("mishaps").unwrap();
    let found: Vec<(String, Comparison)> = all
        .par_iter()
        .map_init(
            || workspace(&clean),
            |before, case| (case.name.clone(), compare(before, &mut workspace(&case.patched(&clean).unwrap()))),
        )
        .collect();
    let (mut silent, mut open, mut page) = (Vec::new(), Vec::new(), String::new());
    for (name, comparison) in &found {
        let _ = writeln!(page, "=== {name}\n{}", told(comparison));
        if comparison.subjects.is_empty() && comparison.came.is_empty() && comparison.went.is_empty() {
            silent.push(name);
        }
        let not_decided = comparison.subjects.iter().flat_map(|subject| &subject.open);
        open.extend(not_decided.map(|open| format!("{name}: {} ({})", open.what, open.why)));
    }
    // `WALKAROUND_SHOW=FILE` writes what is told of all of them, to be read.
    if let Some(file) = std::env::var_os("WALKAROUND_SHOW") {
        fs::write(file, page).unwrap();
    }
    assert!(found.len() > 200);
    assert!(silent.is_empty(), "{silent:#?}");
    // Only what stands on a fault is not decided.
    let faulty = |open: &String| open.starts_with("mishaps/format/");
    let unknown: Vec<&String> = open.iter().filter(|open| !faulty(open)).collect();
    assert!(unknown.is_empty(), "{unknown:#?}");
}

#[test]
fn a_moved_switch_is_told_in_a_few_lines() {
    let told = lines("sanderling.rig", "channel 7 arm = left-front", "channel 7 arm = left-rear");
    let subjects: Vec<&String> = told.iter().take_while(|line| !line.starts_with("comes")).collect();
    assert!(subjects.len() <= 6, "{told:#?}");
    let all = told.join("\n");
    for words in [
        "sanderling\n",
        "with left-front down, it no longer asks to arm; channel 7 (arm) was 2000 us (arm), now 1000 us (no mode)",
        "it now asks to arm",
        "left-rear down",
        "propellers off",
    ] {
        assert!(all.contains(words), "{words} in {all}");
    }
}

#[test]
fn a_turned_stick_goes_the_other_way() {
    let told = lines("sanderling.rig", "channel 2 = pitch", "channel 2 { value pitch; reversed }");
    let all = told.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(all.contains("channel 2 (pitch) was 1100.1 us, now 1899.9 us: the other way"), "{all}");
}

#[test]
fn what_is_sent_on_another_channel_is_one_line() {
    let told = lines("sanderling.rig", "channel 7 arm = left-front", "channel 5 arm = left-front");
    let all = told.join(" ").split_whitespace().collect::<Vec<_>>().join(" ");
    // The aircraft still reads channel 7 as before, so that the two are not for the same.
    assert!(all.contains("channel 7 (mode arm) is no longer sent") && !all.contains("moves (arm) is sent on"), "{all}");
    let files = |channel: &str| -> Vec<File> {
        let turn = |(name, text): File| {
            let text = String::from_utf8(text).unwrap();
            (name, text.replace("channel 8 home = dial", &format!("channel {channel} home = dial")).into_bytes())
        };
        edited("sanderling.rig", "mode home  channel 8", &format!("mode home  channel {channel}"))
            .into_iter()
            .map(turn)
            .collect()
    };
    let found = self::told(&compared(&files("8"), &files("10")));
    let found = found.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        found.contains("what dial moves (mode home) is sent on channel 10 now, and no longer on channel 8"),
        "{found}"
    );
    assert!(!found.contains("is no longer sent"), "{found}");
}

/// Two channels that exchange what they do are one line; where one of them does it otherwise, each is told by itself.
#[test]
fn channels_that_change_places_are_one_line() {
    let channels = "channel 2 = pitch\n  channel 3 = throttle";
    let told = |now: &str| {
        let told = lines("sanderling.rig", channels, now).join(" ");
        told.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let swapped = told("channel 2 = throttle\n  channel 3 = pitch");
    let words = "channels 2 (pitch) and 3 (throttle) have changed places, each does exactly what the other did: throttle moves \
                 channel 2 now, and pitch moves channel 3";
    assert!(swapped.contains(words), "{swapped}");
    assert!(!swapped.contains("channel 2 (pitch) was") && !swapped.contains("channel 3 (throttle) was"), "{swapped}");
    // That the motor now starts with the pitch stick is told all the same.
    assert!(swapped.contains("the motor on channel 3 no longer stands still"), "{swapped}");
    for nearly in [
        "channel 2 = throttle\n  channel 3 = pitch * 99 %",
        "channel 2 = throttle\n  channel 3 { value pitch; reversed }",
        "channel 2 = throttle\n  channel 3 { value roll when left-front down; value pitch }",
    ] {
        let told = told(nearly);
        assert!(!told.contains("changed places") && told.contains("channel 2 (pitch) was"), "{nearly}: {told}");
    }
}

/// What other channels and conditions name goes along with a channel that changes places.
#[test]
fn what_names_a_channel_that_changes_places_goes_along() {
    let channels = "channel 2 = pitch\n  channel 3 = throttle";
    let with = |one: &str, other: &str| {
        format!(
            "condition low when channel {one} below 1200 us\n  channel {one} = throttle\n  channel {other} {{ value pitch when not low; value 20 % }}"
        )
    };
    let (old, new) = both("sanderling.rig", channels, [&with("3", "2"), &with("2", "3")]);
    let found = told(&compared(&old, &new));
    assert!(found.split_whitespace().collect::<Vec<_>>().join(" ").contains("have changed places"), "{found}");
    // The condition looks at the other channel still: pitch hangs on itself then, or on nothing that it did.
    let (old, new) = both(
        "sanderling.rig",
        channels,
        [&with("3", "2"), &with("2", "3").replace("when channel 2", "when channel 4")],
    );
    let found = told(&compared(&old, &new));
    assert!(!found.contains("changed"), "{found}");
}

/// One text of a file in place of another, on both sides; then a second one on the new side alone.
fn both(file: &str, old: &str, now: [&str; 2]) -> (Vec<File>, Vec<File>) {
    (edited(file, old, now[0]), edited(file, old, now[1]))
}

/// Longer is also held for less, so that nothing arms now that did not.
#[test]
fn what_is_held_for_longer_was_held_for_less() {
    let held = |time: &str| format!("channel 7 arm {{ value 100 % when held {time} left-front down; value -100 % }}");
    let (short, long) = (held("1 s"), held("2.5 s"));
    let (old, new) = both("sanderling.rig", "channel 7 arm = left-front", [&short, &long]);
    let forward = told(&compared(&old, &new));
    assert!(forward.contains("no longer asks to arm") && !forward.contains("now asks to arm"), "{forward}");
    assert!(forward.contains("Wait 1 s") && !forward.contains("2.5 s"), "{forward}");
    let back = told(&compared(&new, &old));
    assert!(back.contains("it now asks to arm") && !back.contains("no longer asks to arm"), "{back}");
    assert!(compared(&old, &old).subjects.is_empty());
}

/// A second receiver on another link has signals of its own.
#[test]
fn each_link_is_compared() {
    let receivers =
        "receiver main { link shore-24; number 6 }\n  receiver rear { link marsh-900; number 6 }\n  controller {";
    let two = |files: Vec<File>, levels: &str| -> Vec<File> {
        let text = |(name, text): File| {
            let text = String::from_utf8(text).unwrap();
            let made = match name.as_str() {
                "sanderling.rig" => text.replacen("  controller {", receivers, 1).replace(
                    "module plug-in off",
                    "module plug-in { receiver-number 6; match on; send-on chain 1; power 150 mW }",
                ),
                "links.rig" => {
                    text.replace("carry channel 1..8 levels 1800", &format!("carry channel 1..8 levels {levels}"))
                }
                _ => text,
            };
            (name, made.into_bytes())
        };
        files.into_iter().map(text).collect()
    };
    let (old, new) = (two(fleet("clean"), "1800"), two(fleet("clean"), "3"));
    assert_ne!(old, new);
    let comparison = compared(&old, &new);
    let sanderling = comparison.subjects.iter().find(|subject| subject.name == "sanderling").unwrap();
    let over: Vec<&str> = sanderling.changes.iter().filter_map(|change| change.over.as_deref()).collect();
    assert!(!over.is_empty() && over.iter().all(|link| *link == "marsh-900"), "{}", told(&comparison));
    assert!(told(&comparison).contains("over link marsh-900: "), "{}", told(&comparison));
}

#[test]
fn a_position_more_is_told_with_what_it_does() {
    let files = edited("handset.rig", "switch rotary     5 positions ", "switch rotary     6 positions ");
    let found = told(&compared(&fleet("clean"), &files));
    let found = found.split_whitespace().collect::<Vec<_>>().join(" ");
    let words = "rotary has a position that it did not have, 6: channel 6 is 2000 us there";
    assert!(found.contains(words) && !found.contains("not decided"), "{found}");
}

#[test]
fn the_place_of_the_settings_counts() {
    let mut files = fleet("clean");
    files.iter_mut().for_each(|(_, text)| {
        *text = String::from_utf8(text.clone()).unwrap().replace("  flown-at \"north spit\"\n", "").into_bytes();
    });
    let settled = [files.clone(), vec![("walkaround.toml".to_owned(), b"place = \"north spit\"\n".to_vec())]].concat();
    let found = told(&compared(&files, &settled));
    assert!(found.contains("new in the settings: `place \"north spit\"`"), "{found}");
}

/// The files of a side in a folder.
fn folder(files: &[File]) -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn json(folder: &Path, command: &str, arguments: &[&str]) -> Value {
    let output = run(folder, command, arguments, "");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{command} {arguments:?}: {error}: {said}"))
}

/// What `trace` says of an example on its side.
fn traced(folder: &Path, aircraft: &str, model: &Value, example: &Value) -> Value {
    let mut arguments = vec![model.as_str().unwrap().to_owned(), "--craft".to_owned(), aircraft.to_owned()];
    arguments.extend(as_arguments(example));
    // Where everything rests one control is put where it is, since `trace` alone is a table.
    if arguments.len() == 3 {
        arguments.extend(["--set", "roll=0"].map(str::to_owned));
    }
    arguments.extend(["--as", "json"].map(str::to_owned));
    json(folder, "trace", &arguments.iter().map(String::as_str).collect::<Vec<_>>())
}

/// Each example is played again from its words, on each side by itself.
#[test]
fn every_example_replays_on_both_sides() {
    let clean = fleet("clean");
    let before = folder(&clean);
    let all = cases("mishaps").unwrap();
    let replayed: usize = all
        .par_iter()
        .filter(|case| ["arming/", "throttle/cut", "modes/"].iter().any(|group| case.rule.starts_with(group)))
        .map(|case| {
            let now = folder(&case.patched(&clean).unwrap());
            let (old, new) = (before.path().to_str().unwrap(), now.path().to_str().unwrap());
            let comparison = json(now.path(), "compare", &[old, new, "--as", "json"]);
            let mut replayed = 0;
            for subject in comparison["subjects"].as_array().unwrap().iter().filter(|it| it["kind"] == "aircraft") {
                let aircraft = subject["name"].as_str().unwrap();
                for change in subject["changes"].as_array().unwrap() {
                    if change["example"].is_null() || !matches!(change["what"].as_str(), Some("pulse" | "mode")) {
                        continue;
                    }
                    for (side, place, us, on) in [(&before, "before", "old_us", false), (&now, "now", "new_us", true)] {
                        let facts = &change["facts"];
                        let read = traced(side.path(), aircraft, &change["model"], &change["example"][place]);
                        if change["what"] == "mode" {
                            let is_on = &read["modes"][facts["mode"].as_str().unwrap()];
                            assert_eq!(*is_on == true, (facts["now_on"] == true) == on, "{}: {change}", case.name);
                        } else {
                            let channels = read["channels"].as_array().unwrap();
                            let channel = channels.iter().find(|it| it["channel"] == facts["channel"]).unwrap();
                            let pulse = channel["carried_us"].as_f64().or(channel["pulse_us"].as_f64()).unwrap();
                            let shown = facts[us].as_f64().unwrap();
                            assert!((pulse - shown).abs() < 0.11, "{}: {shown}, {pulse}: {change}", case.name);
                        }
                        replayed += 1;
                    }
                }
            }
            replayed
        })
        .sum();
    println!("{replayed} examples replayed");
    assert!(replayed >= 60, "{replayed}");
}
