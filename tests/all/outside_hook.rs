//! The hooks of `.pre-commit-hooks.yaml` with the tool that reads it. `.ci/install-outside-tools` installs it; where it is
//! missing these tests fail and never skip.
#![cfg(unix)]

use crate::hooks::{PROGRAM, Repository, does_its_work, said};
use std::fs;
use std::path::Path;
use std::process::Output;

const MANIFEST: &str = include_str!("../../.pre-commit-hooks.yaml");

/// Runs pre-commit; its store is in the repository's `.git`, so that it leaves nothing behind.
fn pre_commit(repository: &Repository, arguments: &[&str]) -> Output {
    let mut command = repository.command("pre-commit");
    command.args(arguments).env("PRE_COMMIT_HOME", repository.path().join(".git/pre-commit-store"));
    command.output().unwrap_or_else(|error| panic!("pre-commit is not installed: {error}"))
}

/// The hooks of the manifest as hooks of this repository, which run the built program instead of building it. Those that install a
/// wheel are the same but for how they are installed, which `.ci/release check` tries.
fn local_hooks() -> String {
    let (built, wheel) = MANIFEST.split_once("# The same two without Rust").unwrap();
    assert_eq!(built.matches("  language: rust\n").count(), built.matches("- id: ").count());
    let same =
        wheel.split_once('\n').unwrap().1.replace("-wheel\n", "\n").replace("language: python", "language: rust");
    assert!(built.ends_with(&same), "{same}");
    // As the page has it, so that a merge is looked at too.
    let installs =
        include_str!("../../docs/hooks.md").lines().find(|line| line.starts_with("default_install_hook_types:"));
    let mut config = format!("{}\nrepos:\n- repo: local\n  hooks:\n", installs.unwrap());
    for line in built.lines().filter(|line| !line.starts_with('#')) {
        config += &format!("  {line}\n");
    }
    config.replace("language: rust", "language: system").replace("entry: walkaround ", &format!("entry: {PROGRAM} "))
}

/// A repository with the hooks of the manifest.
fn with_hooks() -> Repository {
    let repository = Repository::new();
    repository.write(".pre-commit-config.yaml", &local_hooks());
    let installed = pre_commit(&repository, &["install"]);
    assert!(installed.status.success(), "{}", said(&installed));
    // `git commit` runs it, and has to know where its store is.
    for hook in ["pre-commit", "pre-merge-commit"] {
        let hook = repository.path().join(".git/hooks").join(hook);
        let text = fs::read_to_string(&hook).unwrap();
        let (first, rest) = text.split_once('\n').unwrap();
        let store = repository.path().join(".git/pre-commit-store");
        fs::write(&hook, format!("{first}\nexport PRE_COMMIT_HOME='{}'\n{rest}", store.display())).unwrap();
    }
    repository
}

#[test]
fn the_hooks_do_their_work() {
    does_its_work(&with_hooks());
}

#[test]
fn an_untidy_file_is_named_and_left_as_it_is() {
    let repository = with_hooks();
    assert!(repository.commit_all().1);
    repository.edit("knot.rig", "    order A E T R", "  order   A E T R");
    let untidy = repository.read("knot.rig");
    let (said, made) = repository.commit_all();
    assert!(!made && said.contains("- hook id: tidy-check\n") && said.contains("\nknot.rig\n"), "{said}");
    assert!(!said.contains("- hook id: inspect\n"), "{said}");
    assert_eq!(repository.read("knot.rig"), untidy);
    assert!(repository.command(PROGRAM).arg("tidy").output().unwrap().status.success());
    assert_ne!(repository.read("knot.rig"), untidy);
    repository.write("more.txt", "A commit with a change.\n");
    let (said, made) = repository.commit_all();
    assert!(made, "{said}");
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

/// Copies this package without what is built and without its history.
fn copy_package(from: &Path, to: &Path) {
    for entry in fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let (name, path) = (entry.file_name(), entry.path());
        if name == ".git" || path == Path::new(env!("CARGO_MANIFEST_DIR")).join("target") {
            continue;
        }
        if entry.file_type().unwrap().is_dir() {
            fs::create_dir(to.join(&name)).unwrap();
            copy_package(&path, &to.join(&name));
        } else {
            fs::copy(&path, to.join(&name)).unwrap();
        }
    }
}

/// The whole way of a pilot who has Rust: the tool clones the repository, builds the program and runs it. Built without
/// optimisation, from the crates that the tests were built with, and with what is built kept for the next time.
#[test]
fn the_tool_builds_the_program_itself() {
    let package = Repository::empty();
    copy_package(Path::new(env!("CARGO_MANIFEST_DIR")), package.path());
    assert!(package.commit_all().1);
    let fleet = Repository::new();
    fleet.edit("knot.rig", "    order A E T R", "    order E A T R");
    fleet.git(&["add", "--all"]);
    let output = fleet
        .command("pre-commit")
        .args(["try-repo", package.path().to_str().unwrap(), "inspect", "--all-files"])
        .env("CARGO_TARGET_DIR", concat!(env!("CARGO_TARGET_TMPDIR"), "/hook"))
        .env("CARGO_NET_OFFLINE", "true")
        .env("CARGO_PROFILE_RELEASE_LTO", "off")
        .env("CARGO_PROFILE_RELEASE_OPT_LEVEL", "0")
        .env("CARGO_PROFILE_RELEASE_CODEGEN_UNITS", "16")
        .output()
        .unwrap_or_else(|error| panic!("pre-commit is not installed: {error}"));
    let said = said(&output);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("danger: channels/order") && said.contains("11 files, 7 aircraft: "), "{said}");
}
