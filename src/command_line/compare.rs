//! `walkaround compare`: what a change does to the aircraft.

mod git;

use super::inspect::day;
use super::output::{self, Colour, Form, tell, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings};
use crate::compare::compare;
use crate::inspect::{Options, Workspace};
use crate::report::compare as report;
use crate::report::paint::Paint;
use std::path::PathBuf;
use tempfile::TempDir;

/// Compares two folders, files or git revisions and says what behaves otherwise: which positions send, arm or move something
/// else, with an example each; what connects otherwise; and what else is stated otherwise. Layout, comments and names count
/// for nothing
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// A folder, a file, or a git revision (default: the last commit)
    old: Option<String>,
    /// A folder, a file, or a git revision (default: this folder)
    new: Option<String>,
    /// Compare with what is staged for the next commit instead of this folder
    #[arg(long, conflicts_with = "new")]
    staged: bool,
    /// How the comparison is written
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
    /// Exit with 0 also where something behaves otherwise
    #[arg(long)]
    exit_zero: bool,
    #[command(flatten)]
    settings: settings::Choice,
}

/// Something that is compared.
struct Side {
    /// How it is called.
    name: String,
    workspace: Workspace,
    /// Keeps the files of a revision while they are read.
    _files: Option<TempDir>,
}

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    let (old, new) = (arguments.old.as_deref().unwrap_or("HEAD"), arguments.new.as_deref().unwrap_or("."));
    let new = if arguments.staged { side(None, &arguments.settings) } else { side(Some(new), &arguments.settings) };
    let (mut old, mut new) = match side(Some(old), &arguments.settings).and_then(|old| Ok((old, new?))) {
        Ok(sides) => sides,
        Err(message) => {
            tell(&message);
            return Status::NotUnderstood;
        }
    };
    if old.workspace.count() == 0 && new.workspace.count() == 0 {
        return wrong_usage("neither side has a file that ends in .rig: there is nothing to compare");
    }
    let comparison = compare(&mut old.workspace, &mut new.workspace);
    let status = match () {
        () if new.workspace.faults() > 0 || old.workspace.faults() > 0 => Status::NotUnderstood,
        () if comparison.subjects.is_empty() || arguments.exit_zero => Status::Clean,
        () => Status::Found,
    };
    let sides = [old.name.as_str(), new.name.as_str()];
    match arguments.form {
        Form::Json => output::write(status, |out| report::write_json(&comparison, sides, out)),
        Form::Text => {
            let (paint, width) = (Paint(colour.is_on()), output::width());
            output::show(status, |out| report::write(&comparison, sides, paint, width, out))
        }
    }
}

/// Reads what an argument names: a path that is there, else a revision; without an argument what is staged.
///
/// # Errors
/// Why it can't be read, in words.
fn side(named: Option<&str>, settings: &settings::Choice) -> Result<Side, String> {
    let path = named.map(PathBuf::from).filter(|path| path.exists());
    let (name, path, files) = match (named, path) {
        (Some(named), Some(path)) => {
            let name = if named == "." { "this folder" } else { named };
            (name.to_owned(), path, None)
        }
        (Some(revision), None) => {
            let files = git::revision(revision)?;
            let name = if revision == "HEAD" { "the last commit" } else { revision };
            (name.to_owned(), files.folder.clone(), Some(files.kept))
        }
        (None, _) => {
            let files = git::staged()?;
            ("what is staged".to_owned(), files.folder.clone(), Some(files.kept))
        }
    };
    let paths = [path];
    let (sources, chosen) = Sources::choose(&Wanted { paths: &paths, name: "standard input", around: true, settings })?;
    let mut options = Options { today: day(None).ok(), ..settings::options(&chosen) };
    chosen.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
    let mut workspace = Workspace::new();
    workspace.settings(options);
    sources.load(&mut workspace);
    Ok(Side { name, workspace, _files: files })
}
