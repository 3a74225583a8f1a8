//! What the README shows is what the program says.

use crate::shown::{is_shown, split};
use std::process::Command;

#[test]
fn the_readme_shows_what_the_program_says() {
    let readme = include_str!("../../README.md");
    let blocks: Vec<&str> =
        readme.split("```console\n").skip(1).map(|block| block.split("```").next().unwrap_or_default()).collect();
    assert!(blocks.len() >= 4);
    for block in blocks {
        let (line, shown) = block.split_once('\n').unwrap_or((block, ""));
        let arguments = split(line.trim_start_matches("$ walkaround "));
        let output = Command::new(env!("CARGO_BIN_EXE_walkaround"))
            .args(arguments)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .output()
            .unwrap();
        let said = String::from_utf8(output.stdout).unwrap();
        if let Err(message) = is_shown(shown, &said) {
            panic!("{line}: {message}");
        }
    }
}

#[test]
fn the_comparison_can_fail() {
    assert!(is_shown("a\n...\nc\n", "a\nb\nc\n").is_ok());
    assert!(is_shown("...\nb\n...\n", "a\nb\nc\n").is_ok());
    assert!(is_shown("a\nc\n", "a\nb\nc\n").is_err());
    assert!(is_shown("a\n", "a\nb\n").is_err());
    assert!(is_shown("...\nd\n...\n", "a\nb\n").is_err());
}

/// The two commands that do all the set-up are the ones that the README gives, and the checks call the second of them.
#[test]
fn the_two_commands_are_there() {
    let readme = include_str!("../../README.md");
    assert!(readme.contains("cargo run --release -- inspect testdata/fleets/hurried\ncargo test\n"));
    assert!(include_str!("../../.ci/run").contains("\nstep cargo test\n"));
}
