//! A file or an aircraft by itself, with the rest of its folder known; and a text that stands for a file that is not saved yet.

use crate::program::run;
use crate::testdata::copy_fleet;
use std::fs;
use std::path::Path;
use std::process::Output;

fn hurried() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet("hurried", folder.path());
    folder
}

fn inspect(folder: &Path, arguments: &[&str], input: &str) -> (String, String, Option<i32>) {
    let arguments = [&["--as", "lines", "--today", "2027-03-01"], arguments].concat();
    told(run(folder, "inspect", &arguments, input))
}

fn told(output: Output) -> (String, String, Option<i32>) {
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

#[test]
fn beside_a_file_the_rest_of_its_folder_is_known() {
    let folder = hurried();
    // The receiver number that plover and its model use, the handset and the link are all defined elsewhere.
    let (text, more, status) = inspect(folder.path(), &["plover.rig"], "");
    assert_eq!((text.lines().count(), status), (1, Some(1)), "{text}");
    assert!(text.contains("plover.rig:47:") && text.contains("handset/stick-filter"), "{text}");
    assert!(more.contains("5 more findings of this folder are not shown here"), "{more}");
    // A clean file of a folder that is not.
    let (text, _, status) = inspect(folder.path(), &["turnstone.rig"], "");
    assert_eq!((text.as_str(), status), ("", Some(0)));
    // Two files, and one that lies in another folder.
    let (text, _, _) = inspect(folder.path(), &["plover.rig", "curlew.rig"], "");
    assert!(text.contains("handset/stick-filter") && text.contains("module/both-on"), "{text}");
    let (text, _, _) =
        inspect(folder.path().parent().unwrap(), &[folder.path().join("plover.rig").to_str().unwrap()], "");
    assert_eq!(text.lines().count(), 1, "{text}");
}

/// A file in a home folder has not all of that folder read: without settings only what lies beside it.
#[test]
fn without_settings_no_folder_is_walked_through_for_a_file() {
    let folder = hurried();
    let below = folder.path().join("shed");
    fs::create_dir(&below).unwrap();
    fs::rename(folder.path().join("handset.rig"), below.join("handset.rig")).unwrap();
    let (text, more, status) = inspect(folder.path(), &["plover.rig"], "");
    assert!(text.contains("format/unknown-name"), "{text}");
    let beside = fs::read_dir(folder.path()).unwrap().filter(|entry| entry.as_ref().unwrap().path().is_file()).count();
    let words = format!("{} more files of this folder were read for what is defined there", beside - 1);
    assert_eq!((more.contains(&words), status), (true, Some(2)), "{more}");
    let (text, _, _) = inspect(folder.path(), &["-", "--name", "plover.rig"], "rig 1\ncraft plover { }\n");
    assert!(!text.contains("shed/"), "{text}");
    // A settings file says that all of it belongs together.
    fs::write(folder.path().join("walkaround.toml"), "").unwrap();
    let (text, more, status) = inspect(folder.path(), &["plover.rig"], "");
    assert_eq!((text.lines().count(), status), (1, Some(1)), "{text}");
    let words =
        format!("{beside} more files of this folder and the folders in it, as the settings file says, were read");
    assert!(more.contains(&words), "{more}");
    let (text, more, _) = inspect(folder.path(), &["shed/handset.rig"], "");
    assert!(more.contains("as the settings file says"), "{text}{more}");
}

#[test]
fn what_concerns_the_file_is_shown_wherever_it_starts() {
    let folder = hurried();
    let (text, _, _) = inspect(folder.path(), &["knot.rig"], "");
    let (order, wasted) = ("danger channels/order", "caution module/chains-wasted");
    assert!(text.contains(order) && text.contains(wasted) && text.contains("dunlin.rig:"), "{text}");
    assert!(!text.contains("stick-filter"), "{text}");
}

#[test]
fn the_settings_say_what_belongs_to_the_folder() {
    let folder = hurried();
    fs::write(folder.path().join("walkaround.toml"), "exclude = [\"handset.rig\"]\n").unwrap();
    let (text, _, status) = inspect(folder.path(), &["plover.rig"], "");
    assert!(text.contains("format/unknown-name"), "{text}");
    assert_eq!(status, Some(2));
}

#[test]
fn aircraft_can_be_chosen_by_name() {
    let folder = hurried();
    let (text, more, status) = inspect(folder.path(), &["--aircraft", "plover,curlew"], "");
    assert_eq!(text.lines().count(), 2, "{text}");
    assert!(text.contains("handset/stick-filter") && text.contains("module/both-on"), "{text}");
    assert_eq!((more.contains("4 more findings"), status), (true, Some(1)), "{more}");
    let (text, _, status) = inspect(folder.path(), &["--aircraft", "turnstone"], "");
    assert_eq!((text.as_str(), status), ("", Some(0)));
    let (_, why, status) = inspect(folder.path(), &["--aircraft", "turnstein"], "");
    assert!(why.contains("no aircraft is called \"turnstein\"; there are knot, sanderling, whimbrel,"), "{why}");
    assert_eq!(status, Some(64));
}

/// The verdicts of those that are shown are those of the whole folder.
#[test]
fn the_verdict_of_an_aircraft_is_that_of_the_whole_folder() {
    let folder = hurried();
    let verdict = |arguments: &[&str]| -> String {
        let (text, _, _) = told(run(folder.path(), "inspect", arguments, ""));
        text.lines().find(|line| line.starts_with("plover ")).unwrap().split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let whole = verdict(&[]);
    assert_eq!(whole, verdict(&["plover.rig"]));
    assert_eq!(whole, verdict(&["--aircraft", "plover"]));
    let (text, _, _) = told(run(folder.path(), "inspect", &["plover.rig"], ""));
    assert!(!text.lines().any(|line| line.starts_with("knot ")), "{text}");
}

/// A waiver is told with the aircraft that it is about.
#[test]
fn waivers_of_other_aircraft_are_not_told() {
    let folder = hurried();
    let waived = |arguments: &[&str]| {
        told(run(folder.path(), "inspect", arguments, "")).0.contains("waived: receiver/several-answer")
    };
    assert!(waived(&[]) && waived(&["--aircraft", "dunlin"]) && waived(&["dunlin.rig"]));
    assert!(!waived(&["--aircraft", "plover"]) && !waived(&["plover.rig"]));
    // What was found is found, and is said to be covered.
    let (table, _, _) = told(run(folder.path(), "inspect", &["--coverage", "--aircraft", "dunlin"], ""));
    assert!(table.contains("receiver/several-answer (waived)"), "{table}");
    let (table, _, _) = told(run(folder.path(), "inspect", &["--coverage", "--aircraft", "plover"], ""));
    assert!(table.contains("found: ") && !table.contains("(waived)"), "{table}");
}

#[test]
fn a_text_that_is_not_saved_stands_for_its_file() {
    let folder = hurried();
    let saved = fs::read_to_string(folder.path().join("plover.rig")).unwrap();
    let mended = saved.replace("stick-filter on ", "stick-filter off");
    let (text, _, status) = inspect(folder.path(), &["-", "--name", "plover.rig"], &mended);
    assert_eq!((text.as_str(), status), ("", Some(0)));
    let (text, _, status) = inspect(folder.path(), &["-", "--name", "plover.rig"], &saved);
    assert!(text.starts_with("plover.rig:47:"), "{text}");
    assert_eq!(status, Some(1));
    // A file that is not there yet, in a folder that is.
    let strange = "rig 1\ncraft ruff { kind multirotor; receiver { link shoer-24 } }\n";
    let (text, _, status) = inspect(folder.path(), &["-", "--name", "ruff.rig"], strange);
    assert!(text.contains("ruff.rig:2:") && text.contains("shore-24"), "{text}");
    assert_eq!(status, Some(2));
    // Without a name it stands alone.
    let (text, _, _) = inspect(folder.path(), &["-"], &mended);
    assert!(text.contains("format/unknown-name"), "{text}");
}

#[test]
fn only_the_named_file_is_mended() {
    let folder = hurried();
    let read = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let before = read("curlew.rig");
    let (text, _, status) = told(run(folder.path(), "mend", &["--take-choices", "plover.rig"], ""));
    assert_eq!(status, Some(0), "{text}");
    assert!(read("plover.rig").contains("stick-filter off"));
    assert_eq!(read("curlew.rig"), before);
}
