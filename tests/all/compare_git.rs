//! What `compare` reads: revisions, what is staged, worktrees, shallow clones, files; and what it refuses.

use crate::hooks::{Repository, said};
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

const MOVED: (&str, &str, &str) = ("sanderling.rig", "channel 7 arm = left-front", "channel 7 arm = left-rear");

/// A repository whose first commit holds the clean fleet.
fn committed() -> Repository {
    let repository = Repository::new();
    repository.git(&["add", "--all"]);
    assert!(repository.commit().1);
    repository
}

fn compare_in(repository: &Repository, folder: &Path, arguments: &[&str]) -> Output {
    repository
        .command(env!("CARGO_BIN_EXE_walkaround"))
        .current_dir(folder)
        .arg("compare")
        .args(arguments)
        .output()
        .unwrap()
}

/// Exit status and what was said on both streams.
fn compare(repository: &Repository, arguments: &[&str]) -> (Option<i32>, String) {
    let output = compare_in(repository, repository.path(), arguments);
    (output.status.code(), said(&output))
}

#[test]
fn the_last_commit_is_compared_with_the_folder() {
    let repository = committed();
    let (status, told) = compare(&repository, &[]);
    assert!(
        status == Some(0) && told.contains("From the last commit to this folder") && told.contains("the same"),
        "{told}"
    );
    repository.edit(MOVED.0, MOVED.1, MOVED.2);
    let (status, told) = compare(&repository, &[]);
    assert!(status == Some(1) && told.contains("no longer asks to arm"), "{told}");
    let (status, other) = compare(&repository, &["--exit-zero"]);
    assert!(status == Some(0) && told == other, "{other}");

    repository.git(&["add", "--all"]);
    repository.commit();
    assert_eq!(compare(&repository, &[]).0, Some(0));
    for arguments in [&["HEAD~1"][..], &["HEAD~1", "HEAD"], &["HEAD~1", "main"]] {
        let (status, told) = compare(&repository, arguments);
        assert!(status == Some(1) && told.contains("no longer asks to arm"), "{arguments:?}: {told}");
    }
    let (status, told) = compare(&repository, &["HEAD~1", "HEAD", "--as", "json"]);
    let value: Value = serde_json::from_str(&told).unwrap();
    assert_eq!(
        (status, &value["subjects"][0]["name"], &value["old"]),
        (Some(1), &"sanderling".into(), &"HEAD~1".into())
    );
}

#[test]
fn what_is_staged_is_compared_with_the_last_commit() {
    let repository = committed();
    repository.edit(MOVED.0, MOVED.1, MOVED.2);
    assert_eq!(compare(&repository, &["--staged"]).0, Some(0), "nothing is staged yet");
    repository.git(&["add", "--all"]);
    repository.edit(MOVED.0, MOVED.2, MOVED.1);
    let (status, told) = compare(&repository, &["--staged"]);
    assert!(status == Some(1) && told.contains("From the last commit to what is staged"), "{told}");
    assert_eq!(compare(&repository, &["HEAD", "."]).0, Some(0));
    assert_eq!(compare(&repository, &["--staged", "HEAD", "."]).0, Some(64));
}

/// What a hook's environment says of another repository or index counts for nothing, but for the index of its commit.
#[test]
fn a_hooks_environment_leads_nowhere_else() {
    let (repository, other) = (committed(), committed());
    repository.edit(MOVED.0, MOVED.1, MOVED.2);
    let program = env!("CARGO_BIN_EXE_walkaround");
    let elsewhere = other.path().join(".git");
    let output = repository
        .command(program)
        .env("GIT_DIR", &elsewhere)
        .env("GIT_WORK_TREE", other.path())
        .arg("compare")
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    // As `git commit FILE` has it: an index beside the usual one.
    let index = repository.path().join(".git/other-index");
    fs::copy(repository.path().join(".git/index"), &index).unwrap();
    let add = repository.command("git").env("GIT_INDEX_FILE", &index).args(["add", MOVED.0]).output().unwrap();
    assert!(add.status.success());
    let staged =
        repository.command(program).env("GIT_INDEX_FILE", &index).args(["compare", "--staged"]).output().unwrap();
    assert_eq!(staged.status.code(), Some(1), "{}", said(&staged));
    assert_eq!(compare(&repository, &["--staged"]).0, Some(0));
}

#[test]
fn worktrees_shallow_clones_and_moved_files_are_read() {
    let repository = committed();
    repository.edit(MOVED.0, MOVED.1, MOVED.2);
    repository.git(&["add", "--all"]);
    repository.commit();
    let place = tempfile::tempdir().unwrap();
    let tree = place.path().join("tree");
    repository.git(&["worktree", "add", "--quiet", "--detach", tree.to_str().unwrap(), "HEAD~1"]);
    let output = compare_in(&repository, &tree, &["main"]);
    assert!(output.status.code() == Some(1) && said(&output).contains("now asks to arm"), "{}", said(&output));

    let clone = place.path().join("clone");
    let from = format!("file://{}", repository.path().display());
    repository.git(&["clone", "--quiet", "--depth", "1", &from, clone.to_str().unwrap()]);
    assert_eq!(compare_in(&repository, &clone, &[]).status.code(), Some(0));
    let output = compare_in(&repository, &clone, &["HEAD~1"]);
    assert!(output.status.code() == Some(2) && said(&output).contains("HEAD~1"), "{}", said(&output));

    // A file under another name, in another folder.
    repository.git(&["mv", "knot.rig", "knots.rig"]);
    fs::create_dir(repository.path().join("racers")).unwrap();
    repository.git(&["mv", "dunlin.rig", "racers/d.rig"]);
    assert_eq!(compare(&repository, &["--staged"]).0, Some(0));
}

#[test]
fn what_is_no_revision_is_refused() {
    let repository = committed();
    for name in ["nothing-like-it", "HEAD~99", "--output=x", "main:handset.rig", ":/nothing"] {
        let (status, told) = compare(&repository, &["--", name]);
        assert!(status == Some(2) && told.contains(name), "{name}: {told}");
    }
    assert!(!repository.path().join("x").exists());
    // Outside of any repository.
    let folder = tempfile::tempdir().unwrap();
    let output = compare_in(&repository, folder.path(), &[]);
    assert!(output.status.code() == Some(2) && said(&output).contains("repository"), "{}", said(&output));
    // A description with faults.
    repository.edit("knot.rig", "kind multirotor", "kind multi-rotor-ish");
    let (status, told) = compare(&repository, &[]);
    assert!(status == Some(2) && told.contains("fault"), "{told}");
}

#[test]
fn a_part_of_the_folder_is_compared_with_the_same_part() {
    let repository = Repository::empty();
    let flat = Repository::new();
    for name in ["handset.rig", "links.rig", "places.rig", "sanderling.rig"] {
        repository.write(&format!("bench/{name}"), &flat.read(name));
    }
    repository.write("other.rig", "rig 1\nplace elsewhere { reach 300 m }\n");
    repository.git(&["add", "--all"]);
    repository.commit();
    let bench = repository.path().join("bench");
    for (folder, arguments) in [(repository.path(), &["HEAD", "bench"][..]), (bench.as_path(), &[][..])] {
        let output = compare_in(&repository, folder, arguments);
        assert!(output.status.code() == Some(0), "{arguments:?}: {}", said(&output));
    }
    repository.edit("bench/sanderling.rig", MOVED.1, MOVED.2);
    for (folder, arguments) in [
        (repository.path(), &["HEAD", "bench"][..]),
        (repository.path(), &["HEAD", "bench/sanderling.rig"]),
        (bench.as_path(), &[]),
    ] {
        let output = compare_in(&repository, folder, arguments);
        assert!(output.status.code() == Some(1), "{arguments:?}: {}", said(&output));
    }
    let (status, told) = compare(&repository, &["bench/sanderling.rig"]);
    assert!(status == Some(64) && told.contains("OTHER"), "{told}");
    // Two files of one folder: what stands around them counts for both, and neither for the other.
    let text = repository.read("bench/sanderling.rig");
    repository.write("bench/tried.rig", &text.replace(MOVED.2, MOVED.1));
    let (status, told) = compare(&repository, &["bench/sanderling.rig", "bench/tried.rig"]);
    assert!(status == Some(1) && told.contains("left-front down, it now asks to arm"), "{told}");
}

/// Links, submodules and names that would lead somewhere else are passed over.
#[cfg(unix)]
#[test]
fn links_submodules_and_hostile_names_lead_nowhere() {
    let repository = committed();
    let secret = tempfile::tempdir().unwrap();
    fs::write(secret.path().join("out.rig"), "rig 1\nplace out { reach 1 m }\n").unwrap();
    std::os::unix::fs::symlink(secret.path().join("out.rig"), repository.path().join("link.rig")).unwrap();
    repository.git(&["add", "--all"]);
    let head = String::from_utf8(repository.git(&["rev-parse", "HEAD"]).stdout).unwrap();
    repository.git(&["update-index", "--add", "--cacheinfo", &format!("160000,{},sub.rig", head.trim())]);
    let names = ["a\nb.rig", "-x.rig", "sp ace.rig", "\u{1b}[31m.rig", "quo\"te.rig"];
    for (number, name) in names.iter().enumerate() {
        repository.write(name, &format!("rig 1\nplace beach-{number} {{ reach {}0 m }}\n", number + 1));
    }
    repository.git(&["add", "--all"]);
    repository.commit();
    let (status, told) = compare(&repository, &["HEAD~1", "HEAD"]);
    assert!(status == Some(1) && told.matches("is described now").count() == 5, "{told}");
    assert!(!told.contains("place out") && !told.contains('\u{1b}'), "{told}");
}

/// What a file says reaches the terminal only escaped.
#[test]
fn hostile_words_are_shown_plainly() {
    let repository = committed();
    let craft =
        "craft \"evil\\u{1b}[2J\\u{202e}\" {\n  kind boat\n  receiver { link shore-24; key \"\\u{7}\\u{9b}31m\" }\n}\n";
    repository.write("evil.rig", &format!("rig 1\n{craft}"));
    repository.git(&["add", "--all"]);
    repository.commit();
    repository.write("evil.rig", &format!("rig 1\n{}", craft.replace("7}", "8}")));
    for form in ["text", "json"] {
        let (status, told) = compare(&repository, &["--as", form]);
        assert_eq!(status, Some(1), "{told}");
        assert!(!told.contains(['\u{1b}', '\u{202e}', '\u{7}', '\u{8}', '\u{9b}']), "{told:?}");
    }
}
