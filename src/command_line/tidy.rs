//! `walkaround tidy`: the one layout of a rig file.

use super::output::{self, tell, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings, threads, writing};
use crate::inspect::unreadable_file;
use crate::mend::{Untidy, tidy};
use crate::report::plain::plain;
use crate::settings::disk;
use crate::source::Lines;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Lays out the rig files of a settings folder: two spaces a level, like lines in columns. Order and comments stay
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders to lay out; `-` reads standard input and prints it
    #[arg(default_value = ".", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Change nothing: list the files that would change, and exit with 1 if there are any
    #[arg(long)]
    check: bool,
    #[command(flatten)]
    settings: settings::Choice,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    let stdin = arguments.paths.iter().any(|path| path.as_os_str() == "-");
    let (sources, _) = match Sources::choose(&Wanted {
        paths: &arguments.paths,
        name: "standard input",
        around: false,
        settings: &arguments.settings,
    }) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    sources.left.iter().for_each(|left| tell(left));
    if sources.is_empty() {
        tell("there is nothing to lay out: no file that ends in .rig was found");
        return Status::NotUnderstood;
    }
    let mut status = Status::Clean;
    let mut fault = |name: &str, message: &str| {
        tell(&format!("{name} {message}"));
        status = Status::NotUnderstood;
    };
    sources.faults().for_each(|(name, found)| fault(name, &found.message));
    let mut files: Vec<(&str, &Path, Arc<[u8]>)> = Vec::new();
    if let Some((name, text)) = sources.given() {
        files.push((name, Path::new("-"), text.into()));
    }
    for (source, text) in sources.files.iter().zip(sources.texts()) {
        match text {
            Ok(text) => files.push((&source.shown, &source.path, text)),
            Err(error) => fault(&source.shown, &unreadable_file(&source.shown, &disk::reason(&error)).message),
        }
    }
    // JSON has another form, and programs write it.
    let one = |(name, _, text): &(&str, &Path, Arc<[u8]>)| (!name.ends_with(".json")).then(|| tidy(text));
    let laid = threads::map(&files, || (), |(), file| one(file));
    let mut changed: Vec<(&str, &Path, &[u8], &[u8])> = Vec::new();
    for ((name, path, text), laid) in files.iter().zip(&laid) {
        let Some(laid) = laid else { continue };
        match laid {
            Ok(laid) if **laid != **text => changed.push((name, path, text, laid)),
            Ok(_) => {}
            Err(why) => {
                tell(&in_words(name, text, why));
                status = Status::NotUnderstood;
            }
        }
    }
    if arguments.check {
        let found = if changed.is_empty() { status } else { status.worse(Status::Found) };
        return output::write(found, |out| changed.iter().try_for_each(|(name, ..)| writeln!(out, "{}", plain(name))));
    }
    if stdin {
        // A filter prints what it was given where there is nothing to change, and nothing where it can't read it.
        let Some(Some(Ok(laid))) = laid.first() else { return status };
        return output::write(status, |out| out.write_all(laid));
    }
    if !writing::write_all(changed.iter().map(|&(_, path, before, after)| (path, before, after))) {
        return Status::NotUnderstood;
    }
    output::write(status, |out| {
        changed.iter().try_for_each(|(name, ..)| writeln!(out, "laid out {}", plain(name)))?;
        let well = laid.iter().filter(|laid| matches!(laid, Some(Ok(_)))).count();
        writeln!(out, "{} of {well} {} changed.", changed.len(), if well == 1 { "file" } else { "files" })
    })
}

fn in_words(name: &str, text: &[u8], why: &Untidy) -> String {
    let line = |start| Lines::new(text).position(start).line;
    match why {
        Untidy::Fault(span, words) => format!("{name}:{}: not laid out, since {words}", line(span.start)),
        Untidy::Version(span) => {
            format!(
                "{name}:{}: not laid out, since this version of the language is newer than the program",
                line(span.start)
            )
        }
        Untidy::Unsure => format!("{name}: not laid out, since its layout would not read the same"),
    }
}
