//! The language server with real clients: a client library for each feature, and an editor without a screen that opens a fleet,
//! fixes a finding, completes and renames. `.ci/install-outside-tools` installs both; where one is missing these tests fail and
//! never skip.

use crate::hooks::PROGRAM;
use crate::testdata::{copy_fleet, fleet_texts};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

fn outside(name: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside").join(name).display().to_string()
}

fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// A fleet in a folder that no settings above it reach.
fn fleet(name: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet(name, folder.path());
    fs::create_dir(folder.path().join(".git")).unwrap();
    folder
}

/// A program that is stopped, and with it the test, when it takes longer than anything here does on a busy machine.
fn in_time(program: &str) -> Command {
    let mut command = Command::new("timeout");
    command.args(["300", program]);
    command
}

#[test]
fn a_client_library_finds_every_feature() {
    let fleet = fleet("hurried");
    let output = in_time("python3")
        // Only the plugins that are needed, whatever else is installed.
        .args([
            "-m",
            "pytest",
            "-q",
            "-p",
            "no:cacheprovider",
            "-p",
            "pytest_asyncio.plugin",
            "-p",
            "pytest_lsp",
            "-W",
            "error::pytest_lsp.LspSpecificationWarning",
        ])
        .arg(outside("editor_features.py"))
        .env("WALKAROUND", PROGRAM)
        .env("FLEET", fleet.path())
        .env("PYTEST_DISABLE_PLUGIN_AUTOLOAD", "1")
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .current_dir(fleet.path())
        .output()
        .unwrap_or_else(|error| panic!("timeout is not installed: {error}"));
    assert!(output.status.success(), "{}", said(&output));
    assert!(said(&output).contains(" passed"), "{}", said(&output));
}

#[test]
fn an_editor_fixes_completes_and_renames() {
    let fleet = fleet("clean");
    let output = in_time("nvim")
        .args(["--headless", "-u", "NONE", "-i", "NONE", "-n", "-c"])
        .arg(format!("luafile {}", outside("editor.lua")))
        .env("WALKAROUND", PROGRAM)
        .env("FLEET", fleet.path())
        .env("HOME", fleet.path().join(".git"))
        .current_dir(fleet.path())
        .output()
        .unwrap_or_else(|error| panic!("timeout is not installed: {error}"));
    assert!(output.status.success(), "{}", said(&output));
    // All files are as they were but for the name.
    let after = crate::testdata::rig_files(fleet.path());
    for (path, before) in after.iter().zip(fleet_texts("clean")) {
        let wanted = String::from_utf8(before).unwrap();
        let wanted: Vec<String> = wanted
            .lines()
            .map(|line| match line.split_once('#') {
                Some((code, comment)) => format!("{}#{comment}", code.replace("left-front", "killer")),
                None => line.replace("left-front", "killer"),
            })
            .collect();
        let found = fs::read_to_string(path).unwrap();
        assert_eq!(found.lines().collect::<Vec<_>>(), wanted, "{}", path.display());
    }
}
