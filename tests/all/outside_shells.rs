//! Completions in shells that are installed by `.ci/install-outside-tools`; bash is asked by `reference.rs`.

use crate::hooks::PROGRAM;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// The path on which the program that was built comes first.
fn path() -> OsString {
    let built = Path::new(PROGRAM).parent().unwrap();
    let path = std::env::var_os("PATH").unwrap();
    std::env::join_paths(std::iter::once(built.to_owned()).chain(std::env::split_paths(&path))).unwrap()
}

fn fleet() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fleets/clean")
}

#[test]
fn fish_completes_the_names_that_stand_in_the_folder() {
    for (typed, offered) in [
        ("walkaround why arming/sl", "arming/slow"),
        ("walkaround why arming/slow --for kn", "knot"),
        ("walkaround trace sand", "sanderling survey"),
        ("walkaround trace rain --craft kn", "knot"),
        ("walkaround sheet turn", "turnstone"),
    ] {
        let program = format!("{PROGRAM} reference --completions fish | source; complete -C '{typed}'");
        let mut fish = Command::new("fish");
        fish.args(["--no-config", "-c", &program]).env("PATH", path()).current_dir(fleet());
        let output = fish.output().expect("fish is not installed");
        let lines = String::from_utf8(output.stdout).unwrap();
        let names: Vec<&str> = lines.lines().filter_map(|line| line.split('\t').next()).collect();
        assert_eq!(names, [offered], "{typed}: {}", String::from_utf8_lossy(&output.stderr));
    }
}

/// A terminal in which keys are pressed. The line is printed, instead of run, where it stands behind a tab.
const ZSH: &str = r#"
zmodload zsh/zpty
zpty shell zsh -f -i
zpty -w shell 'stty cols 250; PS1= ; show() { zle -I; print -r -- "<$BUFFER>"; BUFFER= }; zle -N show; bindkey "^X" show'
zpty -w shell "$BEFORE; autoload -Uz compinit; compinit -u -D; $AFTER; print ready''ly"
zpty -r shell answer '*readyly*' || exit 1
for typed in "$@"; do
    zpty -w -n shell "$typed"$'\t\x18'
    zpty -r shell answer '*<walkaround*>*' || exit 1
    print -r -- "${${answer##*<}%%>*}"
done
"#;

/// Each way of loading it, and again and again in one shell: the first time, what is loaded from a folder makes itself anew.
#[test]
fn zsh_completes_the_names_that_stand_in_the_folder_each_time() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("_walkaround");
    let made = Command::new(PROGRAM).args(["reference", "--completions", "zsh"]).output().unwrap();
    fs::write(&script, made.stdout).unwrap();
    let typed = [
        ("walkaround why arming/sl", "walkaround why arming/slow "),
        ("walkaround trace sand", "walkaround trace sanderling\\ survey "),
        ("walkaround why arming/slow --for kn", "walkaround why arming/slow --for knot "),
        ("walkaround trace rain --craft kn", "walkaround trace rain --craft knot "),
        ("walkaround sheet turn", "walkaround sheet turnstone "),
        ("walkaround pair", "walkaround pairings "),
        ("walkaround inspect --as sar", "walkaround inspect --as sarif "),
    ];
    let from_folder = format!("fpath=({} $fpath)", folder.path().display());
    for (before, after) in [(from_folder.as_str(), "true"), ("true", &format!("source {}", script.display()))] {
        let mut zsh = Command::new("timeout");
        zsh.args(["100", "zsh", "-f", "-c", ZSH, "zsh"]).args(typed.map(|(keys, _)| keys));
        zsh.env("BEFORE", before).env("AFTER", after).env("PATH", path()).current_dir(fleet());
        let output = zsh.output().expect("timeout is not installed");
        let lines = String::from_utf8(output.stdout).unwrap();
        let wanted: Vec<&str> = typed.iter().map(|(_, wanted)| *wanted).collect();
        assert_eq!(lines.lines().collect::<Vec<_>>(), wanted, "{}", String::from_utf8_lossy(&output.stderr));
    }
}
