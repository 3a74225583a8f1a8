//! `walkaround mend` from the outside: what it writes, what it leaves alone, what it says.

use crate::program;
use crate::testdata::{copy_fleet, fleet_folder};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const PROGRAM: &str = env!("CARGO_BIN_EXE_walkaround");

fn run(folder: &Path, arguments: &[&str], input: &str) -> Output {
    program::run(folder, "mend", &[arguments, &["--today", "2026-11-25"]].concat(), input)
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// A copy of a demo fleet.
fn fleet(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet(name, folder.path());
    folder
}

/// All files of a folder with their texts.
fn contents(folder: &Path) -> Vec<(String, Vec<u8>)> {
    let entries = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let mut all: Vec<_> = entries
        .filter(|path| path.is_file())
        .map(|path| (path.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&path).unwrap()))
        .collect();
    all.sort();
    all
}

/// The hurried evening with a model that says nothing of its stick filter: what nobody can have meant is mended for sure.
fn unsaid() -> tempfile::TempDir {
    let folder = fleet("hurried");
    let path = folder.path().join("plover.rig");
    let text = fs::read_to_string(&path).unwrap();
    let stated = text.lines().find(|line| line.starts_with("  stick-filter on")).unwrap();
    fs::write(&path, text.replace(&format!("{stated}\n"), "")).unwrap();
    folder
}

const DIFF: &str = "\
--- plover.rig
+++ plover.rig
@@ -44,6 +44,7 @@
     key club
   }
   module plug-in off
+  stick-filter off
   trims off
   before-start throttle low
   before-start left-front up
";

#[test]
fn a_preview_shows_the_change_and_writes_nothing() {
    let folder = unsaid();
    let before = contents(folder.path());
    let out = run(folder.path(), &["--preview"], "");
    assert_eq!(text(&out.stdout), DIFF);
    assert!(text(&out.stderr).contains("1 finding would be mended in 1 file, 5 left; 5 need a choice of yours"));
    assert_eq!(out.status.code(), Some(1));
    assert_eq!(contents(folder.path()), before);
}

#[test]
fn only_the_files_that_are_mended_are_written() {
    let folder = unsaid();
    let before = contents(folder.path());
    let out = run(folder.path(), &[], "");
    let said = text(&out.stdout);
    assert!(said.contains("  handset/stick-filter: turn the stick filter off"), "{said}");
    assert!(said.contains("left line 17  channels/order (danger): your choice: Change one side"), "{said}");
    let changed: Vec<_> = contents(folder.path()).into_iter().zip(before).filter(|(new, old)| new != old).collect();
    assert_eq!(changed.iter().map(|(new, _)| new.0.as_str()).collect::<Vec<_>>(), ["plover.rig"]);
    // A second time there is nothing to do.
    let mended = contents(folder.path());
    run(folder.path(), &[], "");
    assert_eq!(contents(folder.path()), mended);
}

#[test]
fn the_pilot_chooses_and_what_is_left_at_the_end_of_the_input_stays() {
    let folder = fleet("hurried");
    let out = run(folder.path(), &["--ask"], "7\n1\n0\n");
    let said = text(&out.stdout);
    assert!(said.contains("   1  tell the controller that the order is A E T R"), "{said}");
    assert!(said.contains("That is none of the numbers."), "{said}");
    assert!(said.contains("you left it"), "{said}");
    let knot = fs::read_to_string(folder.path().join("knot.rig")).unwrap();
    assert!(knot.contains("    order A E T R                              # spare controller"), "{knot}");
    assert_eq!(out.status.code(), Some(1));
}

#[test]
fn a_choice_that_brings_a_danger_is_asked_about_again() {
    for (answer, done) in [("yes", true), ("", false)] {
        let folder = fleet("hurried");
        // It is said beside the choice before anything is mended.
        let before = contents(folder.path());
        let out = program::run(folder.path(), "inspect", &["--as", "json", "--today", "2026-11-25"], "");
        let said = text(&out.stdout);
        assert!(said.contains("and no other job (this breaks an `expect`)"), "{said}");
        assert_eq!(contents(folder.path()), before);
        let out = run(folder.path(), &["--ask", "--rules", "arming/*"], &format!("1\n{answer}\n"));
        let said = text(&out.stdout);
        assert!(said.contains("This would bring another danger. house/expect-failed"), "{said}");
        let text = fs::read_to_string(folder.path().join("sanderling.rig")).unwrap();
        assert_eq!(text.contains("channel 7 arm = left-front"), done);
    }
}

#[test]
fn a_channel_that_gets_another_number_is_followed_through_its_model() {
    let folder = fleet("clean");
    let path = folder.path().join("plover.rig");
    let with = |pitch, throttle| {
        let text = fs::read_to_string(fleet_folder("clean").join("plover.rig"));
        let text = text.unwrap().replace("channel 2 = pitch", &format!("channel {pitch} = pitch"));
        let text = text.replace("channel 3 throttle {", &format!("channel {throttle} throttle {{"));
        let timer = format!("while channel {throttle} above 1150 us or channel 7 above 1660 us");
        let text = text.replace("while channel 7 above 1660 us", &timer);
        let expect = format!("  expect never (channel {throttle} above 1120 us and left-front up)\n}}\n");
        let text = text.trim_end().strip_suffix('}').unwrap().to_owned() + &expect;
        text.replace("channel 6 level = left-rear", &format!("channel 6 level = channel {pitch} + left-rear"))
    };
    let (wrong, right) = (with(3, 2), with(2, 3));
    assert_ne!(wrong, right);
    fs::write(&path, wrong).unwrap();
    let out = run(folder.path(), &["--take-choices", "--rules", "channels/order"], "");
    assert_eq!(fs::read_to_string(&path).unwrap(), right, "{}", text(&out.stdout));
}

#[test]
fn globs_choose_what_is_mended() {
    let folder = fleet("hurried");
    let before = contents(folder.path());
    let out = run(folder.path(), &["--except", "handset/*,channels"], "");
    assert!(text(&out.stdout).contains("0 findings mended, 4 left"), "{}", text(&out.stdout));
    let out = run(folder.path(), &["--rules", "throttle"], "");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("0 findings mended, 0 left.\n", Some(0)));
    assert_eq!(contents(folder.path()), before);
}

#[test]
fn a_fault_stays_the_status_and_keeps_edits_away() {
    let folder = fleet("newcomer");
    let before = contents(folder.path());
    let out = run(folder.path(), &[], "");
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stdout).contains("a fault stands near, in line 42: mend that first"), "{}", text(&out.stdout));
    assert_eq!(contents(folder.path()), before);
}

#[cfg(unix)]
#[test]
fn permissions_are_kept_and_links_and_protected_files_are_not_written() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = unsaid();
    let plover = folder.path().join("plover.rig");
    fs::set_permissions(&plover, fs::Permissions::from_mode(0o640)).unwrap();
    run(folder.path(), &[], "");
    assert_eq!(fs::metadata(&plover).unwrap().permissions().mode() & 0o777, 0o640);

    let folder = unsaid();
    let plover = folder.path().join("plover.rig");
    fs::set_permissions(&plover, fs::Permissions::from_mode(0o440)).unwrap();
    let before = contents(folder.path());
    let out = run(folder.path(), &[], "");
    assert_eq!(out.status.code(), Some(2));
    assert!(text(&out.stderr).contains("plover.rig is not written: it is protected against writing"));
    assert_eq!(contents(folder.path()), before);

    // A link that leads out of its folder is not written through, even if it is named.
    let (folder, elsewhere) = (unsaid(), tempfile::tempdir().unwrap());
    let (plover, real) = (folder.path().join("plover.rig"), elsewhere.path().join("real.rig"));
    fs::rename(&plover, &real).unwrap();
    symlink(&real, &plover).unwrap();
    let before = fs::read(&real).unwrap();
    let others = ["links.rig", "handset.rig", "places.rig", "plover.rig"];
    let out = run(folder.path(), &others, "");
    assert!(text(&out.stderr).contains("it is a link that leads out of its folder"), "{}", text(&out.stderr));
    assert_eq!((out.status.code(), fs::read(&real).unwrap()), (Some(2), before));
    assert!(fs::symlink_metadata(&plover).unwrap().is_symlink());
}

#[test]
fn what_comes_from_a_file_reaches_the_terminal_only_escaped() {
    let folder = unsaid();
    let plover = folder.path().join("plover.rig");
    let hostile = fs::read_to_string(&plover).unwrap().replace("  trims off\n", "  trims off  # jit\u{1b}[31mtery\n");
    fs::write(&plover, hostile).unwrap();
    let out = run(folder.path(), &["--preview"], "");
    assert!(text(&out.stdout).contains("jit\\u{1b}[31mtery"));
    assert!(!out.stdout.contains(&0x1b));
}

#[test]
fn known_findings_and_json_files_are_left_alone() {
    let program =
        |folder: &Path, arguments: &[&str]| Command::new(PROGRAM).current_dir(folder).args(arguments).output().unwrap();
    let folder = fleet("hurried");
    program(folder.path(), &["inspect", "--record", "known.json", "--today", "2026-11-25"]);
    fs::write(folder.path().join("walkaround.toml"), "known = \"known.json\"\n").unwrap();
    let before = contents(folder.path());
    let out = run(folder.path(), &["--take-choices"], "");
    assert_eq!((text(&out.stdout).as_str(), out.status.code()), ("0 findings mended, 0 left.\n", Some(0)));
    assert_eq!(contents(folder.path()), before);

    let folder = unsaid();
    let out = program(folder.path(), &["convert", "plover.rig", "--out", "plover.rig.json"]);
    assert!(out.status.success(), "{}", text(&out.stderr));
    fs::remove_file(folder.path().join("plover.rig")).unwrap();
    let before = contents(folder.path());
    let out = run(folder.path(), &[], "");
    let said = text(&out.stdout);
    assert!(said.contains("handset/stick-filter (caution): by hand: turn the stick filter off"), "{said}");
    assert_eq!(contents(folder.path()), before);
}
