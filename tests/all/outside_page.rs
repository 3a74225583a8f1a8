//! The live bench in real browsers. `page/build` builds it and `.ci/install-outside-tools` installs the browsers; where one of them is
//! missing these tests fail and never skip.

use crate::hooks::PROGRAM;
use std::path::Path;
use std::process::Command;

/// Has a check of the script run that drives the browser, and shows what it measured.
fn passes(check: &str) {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let page = root.join("page/built/walkaround.html");
    assert!(page.is_file(), "`page/build` builds {}", page.display());
    let scratch = tempfile::tempdir().unwrap();
    let output = Command::new("timeout")
        .args(["240", "python3"])
        .arg(root.join("tests/outside/page.py"))
        .arg(check)
        .env("PROGRAM", PROGRAM)
        .env("PAGE", page)
        .env("FLEETS", root.join("testdata/fleets"))
        .env("SCRATCH", scratch.path())
        .env("PYTHONDONTWRITEBYTECODE", "1")
        .output()
        .unwrap_or_else(|error| panic!("timeout is not installed: {error}"));
    print!("{}", String::from_utf8_lossy(&output.stdout));
    assert!(output.status.success(), "{check}: {}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn every_channel_is_what_a_trace_says() {
    passes("channels");
}

#[test]
fn what_is_found_is_what_the_program_finds() {
    passes("findings");
}
