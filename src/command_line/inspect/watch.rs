//! `walkaround inspect --watch`: looks again whenever a file changes, until it is interrupted.
//!
//! The files are looked at twice a second rather than asked of the system: that sees every way in which editors save, also on
//! network folders, where no system tells of a change, and needs nothing that differs between systems. What costs is the
//! inspection, and for that the one workspace is kept: a text that is as before is not read again.

use super::super::Status;
use super::super::output::{Colour, tell};
use super::super::sources::Sources;
use super::{Arguments, Chosen};
use crate::fleet::day::Day;
use crate::inspect::Workspace;
use rustc_hash::FxHashSet;
use std::fs;
use std::io::{self, IsTerminal, Write};
use std::path::Path;
use std::sync::Arc;
use std::thread;
use std::time::{Duration, SystemTime};

/// So long after a look comes the next one.
const BETWEEN_LOOKS: Duration = Duration::from_millis(500);

/// A file that changed is read once it stayed so for this long: editors write in several steps.
const TO_SETTLE: Duration = Duration::from_millis(60);

/// What goes before a report on a terminal: it is emptied, and what was scrolled away stays.
const EMPTY_SCREEN: &[u8] = b"\x1b[2J\x1b[H";

pub(super) fn run(arguments: &Arguments, mut chosen: Chosen, colour: Colour) -> Status {
    let mut workspace = Workspace::with(chosen.options.clone());
    chosen.sources.load(&mut workspace);
    let mut seen = Look::at(&chosen);
    let mut again = false;
    loop {
        if begin_report(again).is_err() {
            // Nobody reads it any more.
            return Status::Clean;
        }
        let status = match chosen.sources.is_empty() {
            true => {
                tell(&chosen.nothing());
                Status::NotUnderstood
            }
            false => chosen.report(arguments, &mut workspace, colour),
        };
        if status == Status::WrongUsage && !again {
            return status;
        }
        again = true;
        let files = chosen.sources.files.len();
        let (files, s) = if files == 1 { ("1 file".to_owned(), "s") } else { (format!("{files} files"), "") };
        tell(&format!("{files} wait{s} for a change; ctrl-C ends"));
        let before = seen;
        (chosen, seen) = wait_for_change(arguments, &before);
        if seen.beside == before.beside {
            let there: FxHashSet<&str> = seen.files.iter().map(|(name, _)| name.as_str()).collect();
            let gone = before.files.iter().filter(|(name, _)| !there.contains(name.as_str()));
            gone.for_each(|(name, _)| workspace.remove(name));
        } else {
            // What the settings or the record of known findings say, or the day, holds for every file.
            workspace = Workspace::with(chosen.options.clone());
        }
        chosen.sources.load(&mut workspace);
    }
}

/// Makes room for a report.
///
/// # Errors
/// When nothing can be written.
fn begin_report(again: bool) -> io::Result<()> {
    let mut out = io::stdout().lock();
    match (out.is_terminal(), again) {
        (true, _) => out.write_all(EMPTY_SCREEN)?,
        (false, true) => out.write_all(b"\n")?,
        (false, false) => {}
    }
    out.flush()
}

/// Waits until the files are others than before, and stay so.
fn wait_for_change(arguments: &Arguments, before: &Look) -> (Chosen, Look) {
    let mut last: Option<Look> = None;
    loop {
        thread::sleep(if last.is_some() { TO_SETTLE } else { BETWEEN_LOOKS });
        // A folder that is away for a moment, or settings that can't be read, are waited for.
        let Ok(chosen) = Chosen::of(arguments) else {
            last = None;
            continue;
        };
        let look = Look::at(&chosen);
        if look == *before {
            last = None;
        } else if last.as_ref() == Some(&look) {
            return (chosen, look);
        } else {
            last = Some(look);
        }
    }
}

/// How a file looked: its name, its bytes, and when it was written; without the two where it can't be asked.
type Seen = (String, Option<(u64, Option<SystemTime>)>);

/// What the files looked like.
#[derive(PartialEq)]
struct Look {
    files: Vec<Seen>,
    beside: Beside,
}

/// What holds for every file: the other texts, and the day.
#[derive(PartialEq)]
struct Beside {
    texts: Vec<(String, Arc<[u8]>, usize)>,
    today: Option<Day>,
}

impl Look {
    fn at(chosen: &Chosen) -> Self {
        let Sources { files, notes, .. } = &chosen.sources;
        let texts = notes.iter().map(|note| (note.name.clone(), note.text.clone(), note.faults.len())).collect();
        Self {
            files: files.iter().map(|source| (source.shown.clone(), stamp(&source.path))).collect(),
            beside: Beside { texts, today: chosen.options.today },
        }
    }
}

fn stamp(path: &Path) -> Option<(u64, Option<SystemTime>)> {
    let file = fs::metadata(path).ok()?;
    Some((file.len(), file.modified().ok()))
}
