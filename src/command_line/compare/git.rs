//! The files of a git revision, or of what is staged, read by calling git: a library for it would be several times this program.

use crate::syntax::MAX_BYTES;
use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::path::{Component, Path, PathBuf};
use std::process::{Command, Stdio};
use std::thread;
use tempfile::TempDir;

/// The files of a revision in a folder of their own.
pub(super) struct Files {
    pub(super) kept: TempDir,
    /// Where in it the folder is that the program was run in.
    pub(super) folder: PathBuf,
}

/// Endings of the files that are read: descriptions, settings and records.
const ENDINGS: [&str; 3] = [".rig", ".rig.json", ".toml"];

/// The files of a revision.
///
/// # Errors
/// Why it can't be read, in words.
pub(super) fn revision(name: &str) -> Result<Files, String> {
    let said = |why: String| format!("\"{name}\" is neither a path nor a revision that can be read: {why}");
    let tree = git(&["rev-parse", "--verify", "--end-of-options", &format!("{name}^{{tree}}")], false).map_err(said)?;
    let tree = String::from_utf8_lossy(&tree).trim().to_owned();
    let list = git(&["ls-tree", "-r", "-z", "--full-tree", &tree], false).map_err(said)?;
    // MODE SP TYPE SP OBJECT TAB NAME
    written(entries(&list, 2)).map_err(said)
}

/// The files that are staged.
///
/// # Errors
/// Why they can't be read, in words.
pub(super) fn staged() -> Result<Files, String> {
    let said = |why: String| format!("what is staged can't be read: {why}");
    let list = git(&["ls-files", "--stage", "-z", "--full-name", ":/"], true).map_err(said)?;
    // MODE SP OBJECT SP STAGE TAB NAME
    written(entries(&list, 1)).map_err(said)
}

/// A call of git in the current folder. What a hook's environment says of the repository is left out, since it need not be
/// about this folder; the index that a commit is made from counts where it is asked for. Nothing is fetched.
fn call(arguments: &[&str], with_index: bool) -> Command {
    let mut command = Command::new("git");
    for (name, _) in std::env::vars_os() {
        let name = name.to_string_lossy().into_owned();
        let is_index = with_index && name == "GIT_INDEX_FILE";
        let is_about = name.starts_with("GIT_CONFIG") || name == "GIT_EXEC_PATH" || name == "GIT_CEILING_DIRECTORIES";
        if name.starts_with("GIT_") && !is_index && !is_about {
            command.env_remove(name);
        }
    }
    command.env("GIT_NO_LAZY_FETCH", "1").env("GIT_OPTIONAL_LOCKS", "0").args(arguments);
    command
}

/// What git writes.
///
/// # Errors
/// What it says on standard error, or why it can't be called.
fn git(arguments: &[&str], with_index: bool) -> Result<Vec<u8>, String> {
    let output = call(arguments, with_index).stdin(Stdio::null()).output();
    let output = output.map_err(|error| format!("git can't be called: {error}"))?;
    match output.status.success() {
        true => Ok(output.stdout),
        false => Err(String::from_utf8_lossy(&output.stderr).trim().to_owned()),
    }
}

/// The files among the lines of a list that are to be read: the object and the name of each. Links and submodules are passed
/// over, and names that lead out of the folder.
fn entries(list: &[u8], object_at: usize) -> Vec<(String, PathBuf)> {
    let entry = |line: &[u8]| {
        let line = std::str::from_utf8(line).ok()?;
        let (head, name) = line.split_once('\t')?;
        let parts: Vec<&str> = head.split(' ').collect();
        let is_file = parts.first().is_some_and(|mode| matches!(*mode, "100644" | "100755"));
        let is_wanted = ENDINGS.iter().any(|ending| name.ends_with(ending));
        let path = PathBuf::from(name);
        let is_inside = path.components().all(|part| matches!(part, Component::Normal(part) if part != ".git"));
        let object = parts.get(object_at).filter(|object| object.bytes().all(|byte| byte.is_ascii_hexdigit()))?;
        (is_file && is_wanted && is_inside).then(|| ((*object).to_owned(), path))
    };
    list.split(|byte| *byte == 0).filter_map(entry).collect()
}

/// Reads objects and writes them to a folder of their own, which ends where the repository does.
fn written(entries: Vec<(String, PathBuf)>) -> Result<Files, String> {
    let below = git(&["rev-parse", "--show-prefix"], false)?;
    let below = String::from_utf8_lossy(&below).trim().to_owned();
    let in_words = |error: std::io::Error| error.to_string();
    let kept = tempfile::tempdir().map_err(in_words)?;
    // The search for settings goes up to here.
    fs::create_dir(kept.path().join(".git")).map_err(in_words)?;
    let folder = kept.path().join(&below);
    fs::create_dir_all(&folder).map_err(in_words)?;
    let mut child = call(&["cat-file", "--batch"], false)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|error| format!("git can't be called: {error}"))?;
    let (Some(mut to), Some(from)) = (child.stdin.take(), child.stdout.take()) else {
        return Err("git can't be talked to".to_owned());
    };
    let asked: String = entries.iter().map(|(object, _)| format!("{object}\n")).collect();
    let read = thread::scope(|scope| {
        // Both ways at once: git answers while it is still asked.
        scope.spawn(move || to.write_all(asked.as_bytes()));
        read_all(&mut BufReader::new(from), &entries, kept.path())
    });
    // A git that is not read to its end is told to stop by the closed pipe.
    let _ = child.wait();
    read?;
    Ok(Files { kept, folder })
}

/// Reads `OBJECT SP TYPE SP SIZE LF CONTENT LF` for each entry, and writes what it holds.
fn read_all(from: &mut impl BufRead, entries: &[(String, PathBuf)], to: &Path) -> Result<(), String> {
    let in_words = |error: std::io::Error| error.to_string();
    for (_, name) in entries {
        let mut head = String::new();
        from.read_line(&mut head).map_err(in_words)?;
        let size = head.trim_end().rsplit(' ').next().and_then(|size| size.parse::<u64>().ok());
        let Some(size) = size else {
            return Err(format!("{} is not there: git says \"{}\"", name.display(), head.trim_end()));
        };
        // One byte more than is read of any file shows that it is too large.
        let mut content = Vec::new();
        from.take(size.min(MAX_BYTES as u64 + 1)).read_to_end(&mut content).map_err(in_words)?;
        let rest = size - content.len() as u64;
        std::io::copy(&mut from.take(rest + 1), &mut std::io::sink()).map_err(in_words)?;
        let path = to.join(name);
        path.parent().map_or(Ok(()), fs::create_dir_all).map_err(in_words)?;
        fs::write(&path, content).map_err(in_words)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_submodules_and_ways_out_are_passed_over() {
        let list = b"100644 blob aa11\ta.rig\x00120000 blob bb22\tlink.rig\x00160000 commit cc33\tsub.rig\x00\
            100644 blob dd44\t../out.rig\x00100755 blob ee55\tb/c.toml\x00100644 blob ff66\tphoto.jpg\x00\
            100644 blob 0077\t.git/x.toml\x00100644 blob zz\td.rig\x00";
        let names: Vec<String> = entries(list, 2).into_iter().map(|(_, name)| name.display().to_string()).collect();
        assert_eq!(names, ["a.rig", "b/c.toml"]);
    }
}
