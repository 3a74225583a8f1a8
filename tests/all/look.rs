//! How the output looks, which settings hold, and the lists of `inspect`.
#![cfg(unix)]

use crate::testdata::copy_fleet_to_temp;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

/// The program in a folder, with nothing in the environment that says anything about colours.
fn program(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    command.current_dir(folder).args(arguments);
    for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "FORCE_COLOR", "LC_ALL", "LC_CTYPE", "LANG"] {
        command.env_remove(name);
    }
    command
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn run(folder: &Path, arguments: &[&str]) -> String {
    out(&program(folder, arguments).output().unwrap())
}

#[test]
fn colour_follows_the_command_line_before_the_environment() {
    let fleet = copy_fleet_to_temp("hurried");
    let coloured = |arguments: &[&str], environment: &[(&str, &str)]| {
        let output = program(fleet.path(), arguments).envs(environment.iter().copied()).output().unwrap();
        out(&output).contains("\u{1b}[")
    };
    for command in [
        &["inspect"][..],
        &["why", "arming/slow"],
        &["why"],
        &["trace", "plover"],
        &["pairings", "--all"],
        &["mend", "--preview", "--take-choices"],
        &["inspect", "--count"],
    ] {
        let with = |more: &[&'static str]| [command, more].concat();
        for (more, environment, wanted) in [
            (&[][..], &[][..], false),
            (&["--color", "always"], &[], true),
            (&["--color", "always"], &[("NO_COLOR", "1")], true),
            (&[], &[("CLICOLOR_FORCE", "1")], true),
            (&[], &[("FORCE_COLOR", "1")], true),
            (&[], &[("FORCE_COLOR", "0")], false),
            (&[], &[("FORCE_COLOR", "1"), ("NO_COLOR", "1")], false),
            (&["--color", "never"], &[("FORCE_COLOR", "1")], false),
        ] {
            assert_eq!(coloured(&with(more), environment), wanted, "{command:?} {more:?} {environment:?}");
        }
    }
    // What programs read has no colours.
    for form in ["lines", "json", "sarif", "annotations", "code-quality", "junit"] {
        assert!(!coloured(&["inspect", "--as", form, "--color", "always"], &[]), "{form}");
    }
}

#[test]
fn a_locale_without_utf8_gets_ascii() {
    let fleet = copy_fleet_to_temp("hurried");
    for command in [&["inspect", "--full"][..], &["why", "arming/slow"], &["trace", "plover"], &["pairings", "--all"]] {
        for (name, locale, ascii) in
            [("LC_ALL", "C", true), ("LANG", "de_AT.ISO-8859-1", true), ("LANG", "C.UTF-8", false)]
        {
            let output = program(fleet.path(), command).env(name, locale).output().unwrap();
            assert!(output.stderr.is_ascii() && !output.stdout.is_empty());
            assert_eq!(
                output.stdout.is_ascii(),
                ascii || command[0] == "pairings" || command[0] == "trace",
                "{command:?} {locale}"
            );
        }
    }
    // What programs read stays as it is.
    let knot = fs::read_to_string(fleet.path().join("knot.rig")).unwrap();
    fs::write(fleet.path().join("knot.rig"), knot.replace("knot", "\"knöt\"")).unwrap();
    let json = program(fleet.path(), &["inspect", "--as", "json"]).env("LC_ALL", "C").output().unwrap();
    assert!(out(&json).contains("knöt"));
    let text = program(fleet.path(), &["inspect"]).env("LC_ALL", "C").output().unwrap();
    assert!(out(&text).contains("kn\\u{f6}t"));
}

#[test]
fn another_settings_file_holds_or_none() {
    let fleet = copy_fleet_to_temp("hurried");
    fs::create_dir(fleet.path().join("house")).unwrap();
    fs::write(fleet.path().join("walkaround.toml"), "[severity]\n\"channels/order\" = \"off\"\n").unwrap();
    fs::write(fleet.path().join("house/strict.toml"), "[severity]\n\"channels/order\" = \"note\"\n").unwrap();
    let said = |arguments: &[&str]| run(fleet.path(), &[&["inspect", "--as", "lines"], arguments].concat());
    assert!(!said(&[]).contains("channels/order"));
    assert!(said(&["--no-settings"]).contains(": danger channels/order "));
    assert!(said(&["--settings", "house/strict.toml"]).contains(": note channels/order "));
    for wrong in [&["--settings", "house/none.toml"][..], &["--settings", "house/strict.toml", "--no-settings"]] {
        let output = program(fleet.path(), &[&["inspect"], wrong].concat()).output().unwrap();
        assert_eq!(output.status.code(), Some(64), "{wrong:?}");
    }
    // What is wrong in it is shown, and its globs start from its own folder.
    fs::write(fleet.path().join("house/strict.toml"), "exclud = []\n").unwrap();
    assert!(said(&["--settings", "house/strict.toml"]).contains("house/strict.toml:1:1: fault format/settings"));
    fs::write(fleet.path().join("strict.toml"), "exclude = [\"knot.rig\"]\n").unwrap();
    let listed = run(fleet.path(), &["inspect", "--list-files", "--settings", "strict.toml"]);
    assert!(!listed.contains("knot.rig") && listed.contains("dunlin.rig"), "{listed}");
}

#[test]
fn the_files_of_an_inspection_are_listed() {
    let fleet = copy_fleet_to_temp("clean");
    let all = run(fleet.path(), &["inspect", "--list-files"]);
    assert_eq!(all.lines().count(), 11, "{all}");
    assert!(all.lines().all(|name| fleet.path().join(name).is_file()));
    // The rest of the folder is read for what it defines, and nothing is said of it.
    let output = program(fleet.path(), &["inspect", "--list-files", "knot.rig"]).output().unwrap();
    assert_eq!((out(&output).as_str(), output.status.code()), ("knot.rig\n", Some(0)));
    assert!(String::from_utf8_lossy(&output.stderr).contains("10 more files are read only"));
    let output = program(fleet.path(), &["inspect", "--list-files", "gone.rig"]).output().unwrap();
    assert_eq!((out(&output).as_str(), output.status.code()), ("", Some(2)));
}

#[test]
fn counts_add_up_to_the_findings() {
    let fleet = copy_fleet_to_temp("hurried");
    let lines = run(fleet.path(), &["inspect", "--as", "lines"]);
    let counts = run(fleet.path(), &["inspect", "--count"]);
    let mut sum = 0;
    for line in counts.lines() {
        let [count, severity, rule] = line.split_whitespace().collect::<Vec<_>>()[..] else { panic!("{line}") };
        let count: usize = count.parse().unwrap();
        assert_eq!(lines.matches(&format!(": {severity} {rule} ")).count(), count, "{line}");
        sum += count;
    }
    assert_eq!(sum, lines.lines().count());
    assert!(sum > 3);
    // With nothing to count it says that, and does not stay silent.
    let fleet = copy_fleet_to_temp("clean");
    let counts = run(fleet.path(), &["inspect", "--count"]);
    assert_eq!(counts, run(fleet.path(), &["inspect", "--quiet"]));
    assert!(counts.contains(" aircraft: no"), "{counts}");
}

#[test]
fn columns_can_count_bytes() {
    let folder = tempfile::tempdir().unwrap();
    // The mark of the first line, and letters of two and four bytes before the place.
    let text = "\u{feff}rig 1 x\ncraft \"é🪶\" { kind boat; wings 3 }\n";
    fs::write(folder.path().join("a.rig"), text).unwrap();
    let column = |more: &[&str]| -> Vec<usize> {
        let page = run(folder.path(), &[&["inspect", "--as", "lines"], more].concat());
        page.lines().map(|line| line.split(':').nth(2).unwrap().parse().unwrap()).collect()
    };
    let (characters, bytes) = (column(&[]), column(&["--columns", "bytes"]));
    let line = text.lines().nth(1).unwrap();
    let at = line.find("wings").unwrap();
    assert!(bytes.contains(&(at + 1)) && characters.contains(&(line[..at].chars().count() + 1)), "{bytes:?}");
    let first = text.lines().next().unwrap().find('x').unwrap() - '\u{feff}'.len_utf8();
    assert!(bytes.contains(&(first + 1)) && characters.contains(&(first + 1)), "{bytes:?} {characters:?}");
    assert_eq!(column(&["--columns", "characters"]), characters);
    let output = program(folder.path(), &["inspect", "--columns", "bytes"]).output().unwrap();
    assert_eq!(output.status.code(), Some(64));
}
