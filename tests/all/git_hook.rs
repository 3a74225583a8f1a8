//! The hook of docs/hooks.md that needs nothing but git, as the page prints it.
#![cfg(unix)]

use crate::hooks::{Repository, does_its_work};
use std::fs;
use std::os::unix::fs::PermissionsExt;

/// A repository with the hook of the page.
fn with_hook() -> Repository {
    let page = include_str!("../../docs/hooks.md");
    let hooks: Vec<&str> = page.split("```sh\n#!/bin/sh\n").skip(1).collect();
    let [hook] = hooks[..] else { panic!("the page has {} hooks", hooks.len()) };
    let hook = hook.split("```").next().unwrap();
    let repository = Repository::new();
    // A merge asks the second; the page says so.
    for place in [".git/hooks/pre-commit", ".git/hooks/pre-merge-commit"] {
        assert!(page.contains(&format!("`{place}`")), "{place}");
        repository.write(place, &format!("#!/bin/sh\n{hook}"));
        let path = repository.path().join(place);
        fs::set_permissions(path, fs::Permissions::from_mode(0o755)).unwrap();
    }
    repository
}

#[test]
fn the_hook_does_its_work() {
    does_its_work(&with_hook());
}

#[test]
fn the_hook_looks_at_what_is_committed_and_at_nothing_else() {
    let repository = with_hook();
    assert!(repository.commit_all().1);
    let (right, wrong) = ("    order A E T R", "    order E A T R");

    // Right in the commit, wrong on the disk.
    repository.edit("dunlin.rig", "rig 1\n", "rig 1\n# Staged.\n");
    repository.git(&["add", "--all"]);
    repository.edit("knot.rig", right, wrong);
    repository.write("untracked.rig", "no rig file");
    let (said, made) = repository.commit();
    assert!(made, "{said}");

    // Wrong in the commit, right on the disk.
    repository.git(&["add", "knot.rig"]);
    repository.edit("knot.rig", wrong, right);
    let (said, made) = repository.commit();
    assert!(!made && said.contains("danger: channels/order"), "{said}");
    assert!(repository.read("knot.rig").contains(right));

    // A commit of named files has an index of its own.
    repository.git(&["reset", "--quiet"]);
    repository.edit("knot.rig", right, wrong);
    repository.edit("dunlin.rig", "# Staged.\n", "# Named.\n");
    let commit = |file: &str| {
        repository.command("git").args(["commit", "--quiet", "-m", "x", file]).output().unwrap().status.success()
    };
    assert!(commit("dunlin.rig"));
    assert!(!commit("knot.rig"));
}
