//! `walkaround begin`: a first settings folder, or another aircraft in one that is there, from a few answers.
//!
//! | file | holds |
//! |---|---|
//! | `questions` | what is asked |
//! | `country` | countries by their names |
//! | `folder` | what a new aircraft is written against: the handset, the link, and the fleet that is there |
//! | `shape` | what each kind of aircraft is written as |
//! | `answers` | what an answer can be, and what hangs on it |
//! | `aircraft`, `like` | the file of a new aircraft |
//! | `files` | all files that are written |

mod aircraft;
mod answers;
mod country;
mod files;
mod folder;
mod like;
mod questions;
mod shape;

use super::output::{self, tell, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, new_file, settings};
use crate::findings::Finding;
use crate::findings::coverage::Standing;
use crate::inspect::Workspace;
use crate::report::plain::plain;
use crate::settings::disk;
use crate::syntax::MAX_BYTES;
use answers::Answers;
use folder::Folder;
use questions::{QUESTIONS, Question};
use std::io::{self, BufRead, Read, Write};
use std::path::{Path, PathBuf};

/// Asks a few questions and writes a first settings folder: equipment, one aircraft, walkaround.toml and a commit hook.
/// In a folder that holds a fleet it adds an aircraft, in a file of its own
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// The folder to write into; it is made if it is not there. A file that is there is never written over
    #[arg(default_value = ".")]
    dir: PathBuf,
    /// Take the answers from this TOML file instead of asking
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    let there = match Folder::of(&arguments.dir) {
        Ok(there) => there,
        Err(why) => return wrong_usage(&why),
    };
    let answers = match &arguments.answers {
        Some(file) => from_file(file, there),
        None => ask(there),
    };
    let answers = match answers {
        Ok(answers) => answers,
        Err(status) => return status,
    };
    write(&arguments.dir, &answers)
}

/// The answers of a file; what it leaves out has its default.
fn from_file(path: &Path, there: Option<Folder>) -> Result<Answers, Status> {
    let refuse = |message: String| {
        tell(&format!("{}: {message}", path.display()));
        Err(Status::NotUnderstood)
    };
    let bytes = match disk::read(path, MAX_BYTES) {
        Ok(bytes) if bytes.len() > MAX_BYTES => return refuse("it is too large".to_owned()),
        Ok(bytes) => bytes,
        Err(error) => return refuse(format!("it can't be read: {error}")),
    };
    let Ok(text) = std::str::from_utf8(&bytes) else { return refuse("it is not UTF-8 text".to_owned()) };
    match Answers::from_toml(text, there) {
        Ok(answers) => Ok(answers),
        Err(message) => refuse(message),
    }
}

/// The answers of the pilot, a line each. An empty line takes the default, and what can't be is asked again.
fn ask(there: Option<Folder>) -> Result<Answers, Status> {
    let mut answers = Answers::to(there);
    let mut lines = io::stdin().lock();
    if let Some(folder) = &answers.folder {
        show(&format!(
            "The folder holds a fleet of {} aircraft. Another is added, in a file of its own; no other file is touched.\n",
            folder.aircraft
        ));
    }
    show("An empty line takes what stands in brackets. Nothing is written before the last answer.\n");
    for question in QUESTIONS {
        let Some(words) = answers.words(question).filter(|_| answers.is_asked(question.key)) else { continue };
        loop {
            let default =
                answers.default_of(question).map_or(String::new(), |default| format!(" [{}]", plain(&default)));
            // The words have lines of their own; names come from files.
            let words: Vec<String> = words.lines().map(|line| plain(line).into_owned()).collect();
            show(&format!("\n{}\n{}{default}: ", words.join("\n"), question.key));
            let Some(line) = line(&mut lines) else {
                tell(&format!("the answers end before `{}`; nothing is written", question.key));
                return Err(Status::WrongUsage);
            };
            match take(question, &line, &mut answers) {
                Ok(()) => break,
                Err(why) => show(&format!("{}\n", plain(&why))),
            }
        }
    }
    show("\n");
    Ok(answers)
}

/// Takes one answer.
fn take(question: &Question, line: &str, answers: &mut Answers) -> Result<(), String> {
    let answer = match (line.trim(), answers.default_of(question)) {
        ("", Some(default)) => default,
        ("", None) => {
            // No such question takes an empty answer; why not says what it takes.
            return answers.set(question.key, "").map_err(|why| format!("this has no default: {why}"));
        }
        (answer, _) => answer.to_owned(),
    };
    answers.set(question.key, &answer)
}

/// A line of at most some hundred bytes: no answer is longer, and an endless one is not waited for.
fn line(from: &mut impl BufRead) -> Option<String> {
    const MOST: u64 = 4096;
    let mut line = Vec::new();
    match from.take(MOST).read_until(b'\n', &mut line) {
        Ok(0) | Err(_) => None,
        Ok(_) => Some(String::from_utf8_lossy(&line).into_owned()),
    }
}

fn show(text: &str) {
    // Whoever can't see the question can't answer it either: the end of the answers is told.
    let mut out = io::stdout().lock();
    let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
}

/// Writes the folder, all files or none.
fn write(folder: &Path, answers: &Answers) -> Status {
    let files = files::all(answers, &|name| folder.join(name).symlink_metadata().is_ok());
    let there: Vec<String> = files
        .iter()
        .map(|(name, _)| folder.join(name))
        .filter(|path| path.symlink_metadata().is_ok())
        .map(|path| path.display().to_string())
        .collect();
    if !there.is_empty() {
        return wrong_usage(&format!("nothing is written, since there is already {}", there.join(", ")));
    }
    let mut written: Vec<PathBuf> = Vec::new();
    let result = std::fs::create_dir_all(folder).and_then(|()| {
        files.iter().try_for_each(|(name, text)| {
            let path = folder.join(name);
            new_file::save(&path, false, |file| file.write_all(text.as_bytes()))?;
            written.push(path);
            Ok(())
        })
    });
    if let Err(error) = result {
        tell(&format!("{} can't be written: {error}", folder.display()));
        for path in &written {
            // These were made a moment ago by this run.
            let _ = std::fs::remove_file(path);
        }
        return Status::NotUnderstood;
    }
    output::write(Status::Clean, |out| {
        for path in &written {
            let path = path.strip_prefix(".").unwrap_or(path);
            writeln!(out, "wrote {}", plain(&path.display().to_string()))?;
        }
        writeln!(out, "\n{}", next(folder, answers, &written))
    })
}

/// What an inspection has to say about the new aircraft.
struct Found {
    /// So many findings.
    count: usize,
    /// So many rules were asked and found nothing.
    clear: usize,
    /// So many apply.
    applicable: usize,
}

/// What is found in the folder about the new aircraft: the answers can hold what a rule has something to say about. None where
/// the settings leave its file out.
fn found(folder: &Path, answers: &Answers, written: &[PathBuf]) -> Option<Found> {
    let (sources, read) = Sources::choose(&Wanted {
        paths: &[folder.to_owned()],
        name: "",
        around: false,
        settings: &super::settings::Choice::default(),
    })
    .ok()?;
    let is_taken =
        |path: &PathBuf| sources.files.iter().any(|source| source.path.canonicalize().ok() == path.canonicalize().ok());
    let is_rig = |path: &&PathBuf| path.extension().is_some_and(|ending| ending == "rig");
    if !written.iter().filter(is_rig).all(is_taken) {
        return None;
    }
    let mut workspace = Workspace::with(settings::options(&read));
    sources.load(&mut workspace);
    let own: Vec<_> = written.iter().map(|path| path.file_name()).collect();
    let names = workspace.names().to_vec();
    let is_own = |finding: &&Finding| {
        let name = names.get(finding.place.file.0 as usize);
        finding.aircraft.iter().any(|aircraft| *aircraft == answers.name)
            || name.is_some_and(|name| own.contains(&Path::new(name).file_name()))
    };
    let outcome = workspace.outcome();
    let row = outcome.coverage.of(&answers.name)?;
    Some(Found {
        count: outcome.findings.iter().filter(is_own).count(),
        clear: row.count(Standing::Clear),
        applicable: row.applicable(),
    })
}

fn next(folder: &Path, answers: &Answers, written: &[PathBuf]) -> String {
    let shown = folder.display().to_string();
    let path = if shown == "." { String::new() } else { format!(" {}", plain(&shown)) };
    let about = match &answers.folder {
        Some(_) => format!("about \"{}\"", plain(&answers.name)),
        None => "about your answers".to_owned(),
    };
    let says = match found(folder, answers, written) {
        None => "leaves the new file out: the patterns of walkaround.toml choose other files".to_owned(),
        Some(Found { count: 0, clear, applicable }) if clear < applicable => format!(
            "has nothing to say {about} yet, by {clear} of {applicable} rules; what it would need for the others it lists"
        ),
        Some(Found { count: 0, .. }) => format!("has nothing to say {about} yet"),
        Some(Found { count: 1, .. }) => format!("has one thing to say {about}"),
        Some(Found { count, .. }) => format!("has {count} things to say {about}"),
    };
    let off = aircraft::caution(answers.kind);
    let page = match answers.folder {
        Some(_) => String::new(),
        None => {
            format!("\n\ndocs/first-fleet.md goes on from here, and `walkaround begin{path}` adds the next aircraft.")
        }
    };
    format!(
        "`walkaround inspect{path}` {says}.\n\nWhat is written holds what you answered, and proposals: lines that say \"check\". Hold \
         each against the handset and\nthe aircraft{off}, and write what is really so.{page}"
    )
}
