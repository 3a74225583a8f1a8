//! The live bench in real browsers. `page/build` builds it and `.ci/install-outside-tools` installs the browsers; where one of them is
//! missing these tests fail and never skip.

use crate::hooks::PROGRAM;
use crate::program::run;
use crate::testdata::fleet_folder;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The page, which has to be there.
fn page() -> PathBuf {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("page/built/walkaround.html");
    assert!(page.is_file(), "`page/build` builds {}", page.display());
    page
}

/// Has a script run that drives a browser, and shows what it measured.
fn runs(command: &mut Command) {
    let output = command.output().unwrap_or_else(|error| panic!("timeout is not installed: {error}"));
    print!("{}", String::from_utf8_lossy(&output.stdout));
    assert!(output.status.success(), "{command:?}: {}", String::from_utf8_lossy(&output.stderr));
}

/// A program that is stopped, and with it the test, when it takes longer than anything here does on a busy machine.
fn in_time(program: &str, script: &str) -> Command {
    let mut command = Command::new("timeout");
    command.args(["240", program]).arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside").join(script));
    command
}

fn passes(check: &str) {
    let scratch = tempfile::tempdir().unwrap();
    runs(
        in_time("python3", "page.py")
            .arg(check)
            .env("PROGRAM", PROGRAM)
            .env("PAGE", page())
            .env("FLEETS", Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fleets"))
            .env("SCRATCH", scratch.path())
            .env("PYTHONDONTWRITEBYTECODE", "1"),
    );
}

#[test]
fn every_channel_is_what_a_trace_says() {
    passes("channels");
}

#[test]
fn what_is_found_is_what_the_program_finds() {
    passes("findings");
}

#[test]
fn what_is_typed_is_inspected_and_saved() {
    passes("mistake");
}

#[test]
fn examples_and_answers_are_played_and_keys_and_fingers_move_sticks() {
    passes("played");
}

#[test]
fn a_game_controller_moves_the_sticks() {
    passes("controller");
}

#[test]
fn nothing_is_asked_of_a_network() {
    passes("quiet");
}

#[test]
fn everybody_can_use_it() {
    passes("access");
}

#[test]
fn it_prints() {
    passes("printed");
}

#[test]
fn a_folder_is_written_into_it_with_whatever_stands_there() {
    passes("written");
}

#[test]
fn how_fast_it_is_is_told() {
    passes("figures");
}

#[test]
fn another_browser_runs_it() {
    let arguments = [".", "--as", "json", "--today", "2027-03-01"];
    let found = run(&fleet_folder("hurried"), "inspect", &arguments, "");
    let found: serde_json::Value = serde_json::from_slice(&found.stdout).unwrap();
    let counts = &found["counts"];
    let wanted = format!("{} fault, {} danger, {} caution", counts["fault"], counts["danger"], counts["caution"]);
    runs(in_time("node", "page.mjs").env("PAGE", page()).env("WANTED", wanted));
}
