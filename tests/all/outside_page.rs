//! The live bench in real browsers. `page/build` builds it and `.ci/install-outside-tools` installs the browsers; where one of them is
//! missing these tests fail and never skip.

use crate::hooks::PROGRAM;
use crate::patches::cases;
use crate::testdata::{fleet, folder};
use std::fs;
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
    command.args(["480", program]).arg(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside").join(script));
    command
}

fn passes(check: &str) {
    passes_with(check, &[]);
}

fn passes_with(check: &str, more: &[(&str, &Path)]) {
    let scratch = tempfile::tempdir().unwrap();
    runs(
        in_time("python3", "page.py")
            .arg(check)
            .env("PROGRAM", PROGRAM)
            .env("PAGE", page())
            .env("FLEETS", folder().join("fleets"))
            .env("SCRATCH", scratch.path())
            .env("PYTHONDONTWRITEBYTECODE", "1")
            .envs(more.iter().copied()),
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
fn every_example_of_every_rule_is_found_as_the_program_finds_it() {
    let (scratch, clean) = (tempfile::tempdir().unwrap(), fleet("clean"));
    for case in ["mishaps", "near-misses"].into_iter().flat_map(|kind| cases(kind).unwrap()) {
        for (name, text) in case.patched(&clean).unwrap() {
            let file = scratch.path().join(case.name.replace('/', "+")).join(name);
            fs::create_dir_all(file.parent().unwrap()).unwrap();
            fs::write(file, text).unwrap();
        }
    }
    passes_with("examples", &[("CASES", scratch.path())]);
}

#[test]
fn what_is_known_is_left_out() {
    passes("known");
}

#[test]
fn two_hundred_thousand_faults_do_not_stop_it() {
    passes("flood");
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
    runs(
        in_time("node", "page.mjs")
            .args(["findings", "mistake", "played", "controller", "quiet", "access", "printed"])
            .env("PROGRAM", PROGRAM)
            .env("PAGE", page())
            .env("FLEETS", folder().join("fleets")),
    );
}
