//! The page for newcomers shows what happens: it is gone through from the first command to the last.

use crate::shown::{is_shown, split};
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

const PAGE: &str = include_str!("../../docs/first-fleet.md");

/// The blocks of the page in their order, each with its language.
fn blocks() -> Vec<(&'static str, &'static str)> {
    let inside = PAGE.split("```").skip(1).step_by(2);
    inside.map(|block| block.split_once('\n').unwrap_or((block, ""))).collect()
}

/// The answers that have no default.
const LEAST: &str = "region = 'NZ'\narm-channel = 5\n";

fn toml_block(number: usize) -> &'static str {
    blocks().into_iter().filter(|(language, _)| *language == "toml").nth(number).unwrap().1
}

fn begin(folder: &Path, answers: &str) {
    fs::write(folder.join("answers.toml"), answers).unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = command.current_dir(folder).args(["begin", "my-fleet", "--answers", "answers.toml"]).output().unwrap();
    assert!(output.status.success());
}

/// Does a change that the page shows: the lines with `-` become those with `+`; fewer of them are only taken out.
fn change(file: &Path, diff: &str) {
    let mut text = fs::read_to_string(file).unwrap();
    let of = |sign: char| diff.lines().filter_map(move |line| line.strip_prefix(sign)).collect::<Vec<_>>();
    let (old, new) = (of('-'), of('+'));
    let taken_out = old.len() - new.len();
    for (at, line) in old.iter().enumerate() {
        let line = format!("{line}\n");
        assert_eq!(text.matches(&line).count(), 1, "{line} in\n{text}");
        let by = at.checked_sub(taken_out).map_or(String::new(), |at| format!("{}\n", new[at]));
        text = text.replace(&line, &by);
    }
    fs::write(file, text).unwrap();
}

#[test]
fn the_page_shows_what_happens() {
    let folder = tempfile::tempdir().unwrap();
    begin(folder.path(), LEAST);
    fs::write(folder.path().join("knot.toml"), toml_block(1)).unwrap();
    let fleet = folder.path().join("my-fleet");
    let mut commands = 0;
    for (language, block) in blocks() {
        match language {
            "diff" => change(&fleet.join("plover.rig"), block),
            "console" => {
                for part in block.split("$ walkaround ").skip(1) {
                    let (line, shown) = part.split_once('\n').unwrap();
                    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
                    let output = command.args(split(line)).current_dir(&fleet).output().unwrap();
                    let said = String::from_utf8(output.stdout).unwrap();
                    if let Err(message) = is_shown(shown, &said) {
                        panic!("{line}: {message}");
                    }
                    commands += 1;
                }
            }
            _ => {}
        }
    }
    assert_eq!(commands, 8);
    // What the page shows of the file is in it.
    let knot = fs::read_to_string(fleet.join("knot.rig")).unwrap();
    let shown =
        blocks().into_iter().find(|(language, block)| language.is_empty() && block.starts_with("craft knot")).unwrap();
    assert!(knot.contains(shown.1), "{knot}");
}

#[test]
fn the_first_question_is_the_one_of_the_page() {
    let (_, dialog) = blocks().into_iter().find(|(language, _)| *language == "text").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let output = command.current_dir(&folder).args(["begin", "my-fleet"]).stdin(Stdio::null()).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    let (asked, _) = dialog.split_once("\n...").unwrap();
    assert!(said.ends_with(asked), "{said}");
}

#[test]
fn the_answers_of_the_page_are_all_there_are() {
    let answers = toml_block(0);
    let folder = tempfile::tempdir().unwrap();
    begin(folder.path(), answers);
    // They are the defaults: so the same files come of those that have none.
    let other = tempfile::tempdir().unwrap();
    begin(other.path(), LEAST);
    for name in ["equipment.rig", "plover.rig", "walkaround.toml", ".pre-commit-config.yaml"] {
        let read = |folder: &Path| fs::read_to_string(folder.join("my-fleet").join(name)).unwrap();
        assert_eq!(read(folder.path()), read(other.path()), "{name}");
    }
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    fs::write(folder.path().join("wrong.toml"), "x = 1").unwrap();
    let output = command.current_dir(&folder).args(["begin", "x", "--answers", "wrong.toml"]).output().unwrap();
    let told = String::from_utf8(output.stderr).unwrap();
    let (_, accepted) = told.trim().split_once("accepted: ").unwrap();
    let keys: Vec<&str> = answers.lines().filter_map(|line| line.split(" = ").next()).collect();
    let accepted: Vec<&str> = accepted.split(", ").collect();
    // The file has those of a first multirotor, in the order in which they are asked; the table below it has the others.
    assert_eq!(keys, accepted.iter().filter(|key| keys.contains(key)).copied().collect::<Vec<_>>());
    for key in accepted.iter().filter(|key| !keys.contains(key)) {
        assert!(PAGE.contains(&format!("`{key}`")), "{key}");
    }
}
