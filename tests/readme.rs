//! What the README shows is what the program says.
#![allow(clippy::unwrap_used, clippy::panic)]
#![cfg(feature = "command-line")]

use std::process::Command;

/// The arguments of a command line as a shell would split it; only double quotes are known.
fn split(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate();
    let words = parts.flat_map(|(at, part)| match at % 2 {
        0 => part.split_whitespace().map(str::to_owned).collect(),
        _ => vec![part.to_owned()],
    });
    words.collect()
}

/// Whether a text is what was shown, where a line `...` stands for any lines.
fn is_shown(shown: &str, said: &str) -> Result<(), String> {
    let mut rest: Vec<&str> = said.lines().collect();
    let mut free = false;
    for part in shown.split_inclusive('\n').map(str::trim_end).chain(["\0"]) {
        if part == "..." {
            free = true;
            continue;
        }
        let at = match part {
            "\0" => Some(rest.len()).filter(|left| free || *left == 0),
            _ => rest.iter().position(|line| line.trim_end() == part).filter(|at| free || *at == 0),
        };
        let Some(at) = at else { return Err(format!("{part:?} does not come where it should in:\n{said}")) };
        rest.drain(..(at + 1).min(rest.len()));
        free = false;
    }
    Ok(())
}

#[test]
fn the_readme_shows_what_the_program_says() {
    let readme = include_str!("../README.md");
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
    let readme = include_str!("../README.md");
    assert!(readme.contains("cargo run --release -- inspect testdata/fleets/hurried\ncargo test\n"));
    assert!(include_str!("../.ci/run").contains("\nstep cargo test\n"));
}
