use super::*;
use crate::settings::Globs;
use std::fs;
use std::sync::Arc;
use tempfile::TempDir;

/// A folder with these files; a name that ends in `/` is an empty folder.
fn folder(names: &[&str]) -> TempDir {
    let root = tempfile::tempdir().unwrap();
    for name in names {
        let path = root.path().join(name);
        fs::create_dir_all(if name.ends_with('/') { &path } else { path.parent().unwrap() }).unwrap();
        if !name.ends_with('/') {
            fs::write(path, "rig 1\n").unwrap();
        }
    }
    root
}

fn names(chosen: &Chosen) -> Vec<&str> {
    chosen.sources.iter().map(|source| source.shown.as_str()).collect()
}

fn all_of(root: &Path, paths: &[&str]) -> Chosen {
    let paths: Vec<_> = paths.iter().map(|path| root.join(path)).collect();
    choose(&paths, root, None)
}

#[test]
fn rig_files_below_a_folder_in_the_order_of_their_paths() {
    let root = folder(&[
        "b.rig",
        "a.rig.json",
        "a/z.rig",
        "notes.txt",
        "a.json",
        ".rig",
        ".hidden.rig",
        ".git/x.rig",
        "é/ü.rig",
        "upper.RIG",
        "folder.rig/inner.rig",
    ]);
    let chosen = all_of(root.path(), &[""]);
    assert_eq!(names(&chosen), ["a.rig.json", "a/z.rig", "b.rig", "folder.rig/inner.rig", "é/ü.rig"]);
    assert!(chosen.unreadable.is_empty() && chosen.left.is_empty(), "{chosen:?}");
}

#[test]
fn a_file_named_twice_is_taken_once() {
    let root = folder(&["a/z.rig", "b.rig"]);
    let chosen = all_of(root.path(), &["", "a", "a/z.rig", "./a/../b.rig"]);
    assert_eq!(chosen.sources.len(), 2, "{chosen:?}");
    assert!(chosen.left.is_empty(), "{chosen:?}");
}

#[test]
fn a_file_named_by_hand_has_any_name() {
    let root = folder(&["notes.txt"]);
    assert_eq!(names(&all_of(root.path(), &["notes.txt"])), ["notes.txt"]);
}

#[test]
fn globs_hold_for_folders_and_for_files_named_by_hand() {
    let root = folder(&["fleet/a.rig", "fleet/old/b.rig", "c.rig", "fleet/d.txt"]);
    let globs = Arc::new(Globs::new(Some(["fleet/**/*.rig"]), ["fleet/old"]).unwrap());
    let chosen_from = |paths: &[&str]| {
        let paths: Vec<_> = paths.iter().map(|path| root.path().join(path)).collect();
        choose(&paths, root.path(), Some((&globs, root.path())))
    };
    assert_eq!(names(&chosen_from(&[""])), ["fleet/a.rig"]);
    assert_eq!(names(&chosen_from(&["fleet/old", "c.rig", "fleet/a.rig"])), ["fleet/a.rig"]);
    let left = chosen_from(&["fleet/old", "c.rig", "fleet/d.txt"]).left;
    let wanted = [Left::Folder("fleet/old".into()), Left::File("c.rig".into()), Left::File("fleet/d.txt".into())];
    assert_eq!(left, wanted);
}

#[test]
fn what_can_not_be_read_is_told() {
    let root = folder(&["empty/", "b.rig"]);
    let chosen = all_of(root.path(), &["missing.rig", "empty", "b.rig"]);
    assert_eq!(names(&chosen), ["b.rig"]);
    assert_eq!(chosen.left, [Left::Folder("empty".into())]);
    let wanted = Unreadable { shown: "missing.rig".into(), reason: "there is no such file or folder".into() };
    assert_eq!(chosen.unreadable, [wanted]);
}

#[cfg(unix)]
#[test]
fn links_are_not_followed_and_loops_are_harmless() {
    use std::os::unix::fs::symlink;
    let outside = folder(&["secret.rig"]);
    let root = folder(&["a/z.rig"]);
    let link = |target: &Path, name: &str| symlink(target, root.path().join(name)).unwrap();
    link(root.path(), "a/loop");
    link(Path::new("."), "a/self.rig");
    link(&root.path().join("a/z.rig"), "inside.rig");
    link(outside.path(), "elsewhere");
    link(&outside.path().join("secret.rig"), "out.rig");
    link(Path::new("nothing"), "broken.rig");
    let chosen = all_of(root.path(), &[""]);
    assert_eq!(names(&chosen), ["a/z.rig"]);
    let told: Vec<_> = chosen.unreadable.iter().map(|one| (one.shown.as_str(), one.reason.as_str())).collect();
    let wanted = [
        ("broken.rig", "it is a link that leads nowhere"),
        ("out.rig", "it is a link, and links are not followed; name the file itself"),
    ];
    assert_eq!(told, wanted);
    // A link that the pilot names is meant.
    assert_eq!(names(&all_of(root.path(), &["out.rig", "elsewhere"])), ["elsewhere/secret.rig"]);
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_that_is_shown_under_the_name_of_another_is_told() {
    use std::os::unix::ffi::OsStrExt;
    let root = folder(&["a.rig"]);
    for byte in [0xf0, 0xf1, 0xf2] {
        fs::write(root.path().join(std::ffi::OsStr::from_bytes(&[b'b', byte, b'.', b'r', b'i', b'g'])), "rig 1\n")
            .unwrap();
    }
    let chosen = all_of(root.path(), &[""]);
    assert_eq!(names(&chosen), ["a.rig", "b\u{fffd}.rig"]);
    let told: Vec<_> = chosen.unreadable.iter().map(|one| one.shown.as_str()).collect();
    assert_eq!(told, ["b\u{fffd}.rig"; 2]);
    assert!(chosen.unreadable[0].reason.contains("under the same name"));
}

#[test]
fn the_nearest_settings_up_to_the_repository() {
    let root = folder(&[
        "walkaround.toml",
        "repo/.git/",
        "repo/a/b/x.rig",
        "repo/a/walkaround.toml",
        "repo/c/",
        "plain/d/x.rig",
    ]);
    let top = root.path().canonicalize().unwrap();
    let found = |path: &str, working: &str| find_settings(&top.join(path), &top.join(working)).unwrap();
    for (path, working, file) in [
        ("repo/a/b", "repo", Some("repo/a/walkaround.toml")),
        ("repo/a/b/x.rig", "", Some("repo/a/walkaround.toml")),
        ("repo/c", "", None),
        ("plain/d", "", Some("walkaround.toml")),
        ("plain/d", "plain", None),
        ("plain/d", "repo", None),
        ("", "repo", Some("walkaround.toml")),
    ] {
        assert_eq!(found(path, working), file.map(|file| top.join(file)), "{path} from {working}");
    }
    assert!(find_settings(&top.join("missing"), &top).is_err());
}

#[test]
fn reading_has_an_end() {
    let root = folder(&["a.rig"]);
    let path = root.path().join("a.rig");
    assert_eq!(read(&path, 100).unwrap(), b"rig 1\n");
    assert_eq!(read(&path, 2).unwrap(), b"rig");
    assert_eq!(read(root.path(), 2).unwrap_err().kind(), io::ErrorKind::IsADirectory);
    #[cfg(unix)]
    assert!(read(Path::new("/dev/zero"), 5_000).unwrap_err().to_string().contains("a pipe or a device"));
}

#[test]
fn paths_are_shown_from_the_working_folder() {
    for (path, shown_as) in
        [("/w/a/b.rig", "a/b.rig"), ("./a/b.rig", "a/b.rig"), ("../x.rig", "../x.rig"), ("/v/x.rig", "/v/x.rig")]
    {
        assert_eq!(shown(Path::new(path), Path::new("/w")), shown_as);
    }
}

#[test]
fn reasons_are_plain_words() {
    for (kind, words) in [
        (io::ErrorKind::NotFound, "there is no such file or folder"),
        (io::ErrorKind::PermissionDenied, "reading it is not allowed"),
        (io::ErrorKind::IsADirectory, "it is a folder"),
    ] {
        assert_eq!(reason(&io::Error::from(kind)), words);
    }
}

#[test]
fn full_paths_of_windows_are_shown_as_people_write_them() {
    for (path, shown) in [
        ("//?/C:/fleet/knot.rig", "C:/fleet/knot.rig"),
        ("//?/UNC/hangar/fleet/knot.rig", "//hangar/fleet/knot.rig"),
        ("fleet/knot.rig", "fleet/knot.rig"),
        ("C:/fleet/knot.rig", "C:/fleet/knot.rig"),
    ] {
        assert_eq!(without_prefix(path), shown);
    }
}
