//! `walkaround inspect --watch`: a report again whenever a file changes, until it is interrupted. With the `env` of GNU coreutils.

use crate::testdata::copy_fleet;
use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

/// A program that watches, and the lines that it writes.
struct Watching {
    child: Child,
    out: Receiver<String>,
    told: Receiver<String>,
}

impl Watching {
    fn begin(folder: &Path, arguments: &[&str]) -> Self {
        // Where the tests themselves were started in the background, ctrl-C is not heard unless it is said so.
        let mut command = Command::new("env");
        command.args(["--default-signal=INT", env!("CARGO_BIN_EXE_walkaround")]);
        command.args(["inspect", "--watch", "--today", "2026-11-25"]).args(arguments).current_dir(folder);
        let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        let out = lines(child.stdout.take().unwrap());
        let told = lines(child.stderr.take().unwrap());
        Self { child, out, told }
    }

    /// What is written until the program waits for a change.
    fn report(&self) -> Vec<String> {
        loop {
            let told = self.told.recv_timeout(Duration::from_secs(60)).expect("it waits for a change");
            if told.contains("ctrl-C ends") {
                // Everything was written before that was told; another thread hands it over.
                let first = self.out.recv_timeout(Duration::from_secs(5));
                let mut lines: Vec<String> = first.into_iter().collect();
                while let Ok(line) = self.out.recv_timeout(Duration::from_millis(200)) {
                    lines.push(line);
                }
                return lines;
            }
        }
    }
}

impl Drop for Watching {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn lines(from: impl std::io::Read + Send + 'static) -> Receiver<String> {
    let (give, take) = channel();
    thread::spawn(move || {
        for line in BufReader::new(from).lines().map_while(Result::ok) {
            if give.send(line).is_err() {
                return;
            }
        }
    });
    take
}

fn holds(report: &[String], words: &str) -> bool {
    report.iter().any(|line| line.contains(words))
}

#[test]
fn what_changes_is_inspected_again_until_ctrl_c() {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet("clean", folder.path());
    let mut watching = Watching::begin(folder.path(), &["--as", "lines"]);
    let first = watching.report();
    assert!(!holds(&first, "danger"), "{first:?}");

    let knot = folder.path().join("knot.rig");
    let sound = fs::read_to_string(&knot).unwrap();
    fs::write(&knot, sound.replace("    order A E T R", "    order E A T R")).unwrap();
    let report = watching.report();
    assert!(holds(&report, "danger channels/order"), "{report:?}");
    // Nothing is written to a pipe but the reports.
    assert!(!report.iter().any(|line| line.contains('\u{1b}')), "{report:?}");

    // As editors save: the new text gets the name of the old one.
    let beside = folder.path().join("knot.rig.new");
    fs::write(&beside, &sound).unwrap();
    fs::rename(&beside, &knot).unwrap();
    assert!(!holds(&watching.report(), "danger"));

    let links = folder.path().join("links.rig");
    let text = fs::read_to_string(&links).unwrap();
    fs::remove_file(&links).unwrap();
    assert!(holds(&watching.report(), "fault format/unknown-name"));
    fs::write(folder.path().join("radio.rig"), text).unwrap();
    assert!(!holds(&watching.report(), "fault"));

    fs::write(folder.path().join("walkaround.toml"), "exclud = [\"x\"]\n").unwrap();
    assert!(holds(&watching.report(), "fault format/settings"));
    fs::remove_file(folder.path().join("walkaround.toml")).unwrap();
    assert!(!holds(&watching.report(), "fault"));

    let number = watching.child.id().to_string();
    assert!(Command::new("kill").args(["-INT", &number]).status().unwrap().success());
    let ended = (0..200).find_map(|_| {
        thread::sleep(Duration::from_millis(100));
        watching.child.try_wait().unwrap()
    });
    assert!(!ended.expect("ctrl-C ends it").success());
}

#[test]
fn a_report_after_a_change_is_that_of_a_new_run() {
    let folder = tempfile::tempdir().unwrap();
    copy_fleet("clean", folder.path());
    let watching = Watching::begin(folder.path(), &[]);
    let first = watching.report();
    let knot = folder.path().join("knot.rig");
    let sound = fs::read_to_string(&knot).unwrap();
    fs::write(&knot, sound.replace("    order A E T R", "    order E A T R")).unwrap();
    let second = watching.report();
    let mut command = Command::new(env!("CARGO_BIN_EXE_walkaround"));
    let run = command.args(["inspect", "--today", "2026-11-25"]).current_dir(folder.path()).output().unwrap();
    let run = String::from_utf8(run.stdout).unwrap();
    // An empty line stands between reports.
    assert_eq!(second.join("\n").trim(), run.trim());
    assert_ne!(first, second);
}

#[test]
fn what_cannot_be_watched_is_refused() {
    for arguments in [&["inspect", "--watch", "-"][..], &["inspect", "--watch", "--list-files"]] {
        let output = Command::new(env!("CARGO_BIN_EXE_walkaround")).args(arguments).output().unwrap();
        assert_eq!(output.status.code(), Some(64), "{arguments:?}");
    }
}
