//! A versioned settings folder with a hook, and what a hook has to do there.

use crate::testdata::copy_fleet;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

/// The built program.
pub(crate) const PROGRAM: &str = env!("CARGO_BIN_EXE_walkaround");

/// A scratch repository.
pub(crate) struct Repository {
    folder: TempDir,
}

impl Repository {
    /// Without a file.
    pub(crate) fn empty() -> Self {
        let repository = Self { folder: tempfile::tempdir().unwrap() };
        repository.git(&["init", "--quiet", "--initial-branch", "main"]);
        repository
    }

    /// With the clean fleet, and without a hook yet.
    pub(crate) fn new() -> Self {
        let repository = Self::empty();
        copy_fleet("clean", repository.path());
        repository
    }

    pub(crate) fn path(&self) -> &Path {
        self.folder.path()
    }

    pub(crate) fn read(&self, file: &str) -> String {
        fs::read_to_string(self.path().join(file)).unwrap()
    }

    pub(crate) fn write(&self, file: &str, text: &str) {
        let path = self.path().join(file);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }

    /// Changes a text that stands once in a file.
    pub(crate) fn edit(&self, file: &str, old: &str, new: &str) {
        let text = self.read(file);
        assert_eq!(text.matches(old).count(), 1, "{old} in {file}");
        self.write(file, &text.replace(old, new));
    }

    /// A command that knows this repository and nothing of the machine's own settings, nor of a repository in which
    /// the tests themselves are run.
    pub(crate) fn command(&self, program: &str) -> Command {
        let mut command = Command::new(program);
        for (name, _) in std::env::vars_os().filter(|(name, _)| name.to_string_lossy().starts_with("GIT_")) {
            command.env_remove(name);
        }
        let folder = Path::new(PROGRAM).parent().unwrap();
        let path = std::env::join_paths(
            std::iter::once(folder.to_owned()).chain(std::env::split_paths(&std::env::var_os("PATH").unwrap())),
        );
        command.current_dir(self.path()).env("PATH", path.unwrap());
        command.env("GIT_CONFIG_GLOBAL", "/dev/null").env("GIT_CONFIG_NOSYSTEM", "1");
        for who in ["AUTHOR", "COMMITTER"] {
            command.env(format!("GIT_{who}_NAME"), "A Pilot").env(format!("GIT_{who}_EMAIL"), "pilot@example.org");
        }
        command
    }

    pub(crate) fn git(&self, arguments: &[&str]) -> Output {
        let output = self.command("git").args(arguments).output().unwrap();
        assert!(output.status.success(), "git {arguments:?}: {}", said(&output));
        output
    }

    fn head(&self) -> String {
        String::from_utf8(self.git(&["rev-list", "--all", "--count"]).stdout).unwrap()
    }

    /// Commits what is staged, and gives what was said and whether a commit was made.
    pub(crate) fn commit(&self) -> (String, bool) {
        let before = self.head();
        let output = self.command("git").args(["commit", "--quiet", "-m", "A change"]).output().unwrap();
        let made = before != self.head();
        assert_eq!(made, output.status.success(), "{}", said(&output));
        (said(&output), made)
    }

    /// Stages everything and commits.
    pub(crate) fn commit_all(&self) -> (String, bool) {
        self.git(&["add", "--all"]);
        self.commit()
    }

    /// Takes all changes back that were not committed.
    pub(crate) fn take_back(&self) {
        self.git(&["reset", "--quiet", "--hard"]);
        self.git(&["clean", "--quiet", "-d", "--force"]);
    }
}

/// Everything that a command said.
pub(crate) fn said(output: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr))
}

/// What every hook has to do. The repository's hook is installed, and nothing is committed yet.
pub(crate) fn does_its_work(repository: &Repository) {
    let accepted = |what: &str| {
        let (said, made) = repository.commit_all();
        assert!(made, "{what} is refused: {said}");
    };
    let refused = |what: &str, words: &[&str]| {
        let (said, made) = repository.commit_all();
        assert!(!made, "{what} is accepted: {said}");
        assert!(words.iter().all(|word| said.contains(word)), "{what}: {said}");
        repository.take_back();
    };
    accepted("the clean fleet");

    repository.edit("knot.rig", "    order A E T R", "    order E A T R");
    refused("a danger", &["danger: channels/order", "knot.rig:17"]);

    repository.edit("knot.rig", "rig 1\n", "rig 1\n\n# A harmless remark.\n");
    accepted("a harmless change");

    fs::remove_file(repository.path().join("links.rig")).unwrap();
    refused("a deleted file that others need", &["fault: format/unknown-name", "shore-24"]);

    repository.git(&["mv", "knot.rig", "oystercatcher.rig"]);
    accepted("a file with another name");

    // The models of other files name this switch.
    repository.edit("handset.rig", "switch left-front 2 positions", "switch front-left 2 positions");
    refused("a change that breaks another file", &["fault: format/unknown-name", "whimbrel.rig"]);

    let broken = "rig 1\n\nmodel \"old\" {\n";
    repository.write("retired/old.rig", broken);
    refused("a broken file", &["fault: format/syntax", "retired/old.rig"]);
    repository.write("retired/old.rig", broken);
    repository.write("walkaround.toml", "exclude = [\"retired\"]\n");
    accepted("a broken file that the settings leave out");

    repository.write("walkaround.toml", "exclud = [\"retired\"]\n");
    refused("broken settings", &["fault: format/settings", "walkaround.toml"]);

    // A merge makes a commit too, of what neither side has alone: here of a branch that was committed past the hook.
    repository.git(&["checkout", "--quiet", "-b", "aside"]);
    fs::remove_file(repository.path().join("links.rig")).unwrap();
    repository.git(&["commit", "--quiet", "--all", "--no-verify", "-m", "Without links"]);
    repository.git(&["checkout", "--quiet", "main"]);
    repository.edit("plover.rig", "rig 1\n", "rig 1\n\n# A harmless remark.\n");
    accepted("a harmless change on the other side");
    let before = repository.head();
    let merged = repository.command("git").args(["merge", "--no-edit", "aside"]).output().unwrap();
    assert!(!merged.status.success() && before == repository.head(), "{}", said(&merged));
    assert!(said(&merged).contains("fault: format/unknown-name"), "{}", said(&merged));
    repository.take_back();

    // Neither hook changes a file.
    let status = String::from_utf8(repository.git(&["status", "--porcelain"]).stdout).unwrap();
    assert_eq!(status, "");
}
