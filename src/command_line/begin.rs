//! `walkaround begin`: a first settings folder, from a few answers.

mod answers;
mod files;

use super::output::{self, tell, wrong_usage};
use super::{Status, new_file};
use crate::inspect::{Options, Workspace};
use crate::report::plain::plain;
use crate::settings::disk;
use crate::syntax::MAX_BYTES;
use answers::{Answers, QUESTIONS, Question};
use std::io::{self, BufRead, Read, Write};
use std::path::{Path, PathBuf};

/// Asks a few questions and writes a first settings folder: equipment, one aircraft, walkaround.toml and a commit hook
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
    let answers = match &arguments.answers {
        Some(file) => from_file(file),
        None => ask(),
    };
    let answers = match answers {
        Ok(answers) => answers,
        Err(status) => return status,
    };
    write(&arguments.dir, &answers)
}

/// The answers of a file; what it leaves out has its default.
fn from_file(path: &Path) -> Result<Answers, Status> {
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
    match Answers::from_toml(text) {
        Ok(answers) => Ok(answers),
        Err(message) => refuse(message),
    }
}

/// The answers of the pilot, a line each. An empty line takes the default, and what can't be is asked again.
fn ask() -> Result<Answers, Status> {
    let mut answers = Answers::default();
    let mut lines = io::stdin().lock();
    show("An empty line takes what stands in brackets. Nothing is written before the last answer.\n");
    for question in QUESTIONS {
        loop {
            let default = question.default.map_or(String::new(), |default| format!(" [{default}]"));
            show(&format!("\n{}\n{}{default}: ", question.ask, question.key));
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
    let answer = match (line.trim(), question.default) {
        ("", Some(default)) => default,
        ("", None) => return Err("this has no default: please answer it".to_owned()),
        (answer, _) => answer,
    };
    answers.set(question.key, answer)
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
    let files = files::all(answers);
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
            writeln!(out, "wrote {}", plain(&path.display().to_string()))?;
        }
        writeln!(out, "\n{}", next(folder, found(&files)))
    })
}

/// How many findings the new folder has: the answers can hold what a rule has something to say about.
fn found(files: &[(String, String)]) -> usize {
    let rigs = files.iter().filter(|(name, _)| name.ends_with(".rig"));
    let mut workspace = Workspace::new();
    workspace.settings(Options { default_place: Some(files::PLACE.to_owned()), ..Options::default() });
    rigs.for_each(|(name, text)| workspace.set(name, text.as_bytes()));
    workspace.outcome().findings.len()
}

fn next(folder: &Path, found: usize) -> String {
    let shown = folder.display().to_string();
    let path = if shown == "." { String::new() } else { format!(" {}", plain(&shown)) };
    let says = match found {
        0 => "finds nothing in it yet".to_owned(),
        1 => "has one thing to say about your answers".to_owned(),
        _ => format!("has {found} things to say about your answers"),
    };
    format!(
        "`walkaround inspect{path}` {says}.\n\nThe files hold what you answered, and proposals: lines that say \"check\". Hold \
         each against the handset and the\naircraft, propellers off, and write what is really so. docs/first-fleet.md goes on from \
         here."
    )
}
