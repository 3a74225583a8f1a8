//! The hooks of `.pre-commit-hooks.yaml` with the tool that reads it. `.ci/install-outside-tools` installs it; where it is
//! missing these tests fail and never skip.
#![cfg(all(feature = "outside-tools", feature = "command-line", unix))]
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "hooks/repository.rs"]
mod repository;

use repository::{PROGRAM, Repository, does_its_work, said};
use std::fs;
use std::path::Path;
use std::process::Output;

const MANIFEST: &str = include_str!("../.pre-commit-hooks.yaml");

/// Runs pre-commit; its store is in the repository's `.git`, so that it leaves nothing behind.
fn pre_commit(repository: &Repository, arguments: &[&str]) -> Output {
    let mut command = repository.command("pre-commit");
    command.args(arguments).env("PRE_COMMIT_HOME", repository.path().join(".git/pre-commit-store"));
    command.output().unwrap_or_else(|error| panic!("pre-commit is not installed: {error}"))
}

/// The hooks of the manifest as hooks of this repository, which run the built program instead of building it.
fn local_hooks() -> String {
    assert_eq!(MANIFEST.matches("  language: rust\n").count(), MANIFEST.matches("- id: ").count());
    let mut config = String::from("repos:\n- repo: local\n  hooks:\n");
    for line in MANIFEST.lines().filter(|line| !line.starts_with('#')) {
        config += &format!("  {line}\n");
    }
    config.replace("language: rust", "language: system").replace("entry: walkaround ", &format!("entry: {PROGRAM} "))
}

#[test]
fn the_hooks_do_their_work() {
    let repository = Repository::new();
    repository.write(".pre-commit-config.yaml", &local_hooks());
    let installed = pre_commit(&repository, &["install"]);
    assert!(installed.status.success(), "{}", said(&installed));
    // `git commit` runs it, and has to know where its store is.
    let hook = repository.path().join(".git/hooks/pre-commit");
    let text = fs::read_to_string(&hook).unwrap();
    let (first, rest) = text.split_once('\n').unwrap();
    let store = repository.path().join(".git/pre-commit-store");
    fs::write(&hook, format!("{first}\nexport PRE_COMMIT_HOME='{}'\n{rest}", store.display())).unwrap();
    does_its_work(&repository);
}

#[test]
fn the_manifest_is_valid() {
    let repository = Repository::new();
    repository.write("good.yaml", MANIFEST);
    let output = pre_commit(&repository, &["validate-manifest", "good.yaml"]);
    assert!(output.status.success(), "{}", said(&output));
    for (old, new) in
        [("  language: rust", "  language: rusty"), ("  entry:", "  entrance:"), ("[pre-commit", "[commit-time")]
    {
        assert!(MANIFEST.contains(old), "{old}");
        repository.write("bad.yaml", &MANIFEST.replace(old, new));
        let output = pre_commit(&repository, &["validate-manifest", "bad.yaml"]);
        assert!(!output.status.success(), "{new} is taken");
    }
}

#[test]
fn the_manifest_stands_where_the_tool_looks_for_it() {
    assert!(Path::new(env!("CARGO_MANIFEST_DIR")).join(".pre-commit-hooks.yaml").is_file());
}
