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
use std::path::{Component, Path, PathBuf};
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
pub(super) struct Side {
    /// How it is called.
    pub(super) name: String,
    pub(super) workspace: Workspace,
    /// Keeps the files of a revision while they are read.
    _files: Option<TempDir>,
}

/// What an argument names.
enum Named<'a> {
    /// A path that is there.
    Path(&'a str),
    Revision(&'a str),
    Staged,
}

impl<'a> Named<'a> {
    fn of(argument: &'a str) -> Self {
        if Path::new(argument).exists() { Self::Path(argument) } else { Self::Revision(argument) }
    }

    /// The path, where it is one.
    fn path(&self) -> Option<&'a Path> {
        match self {
            Self::Path(path) => Some(Path::new(*path)),
            Self::Revision(_) | Self::Staged => None,
        }
    }
}

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    let named = [arguments.old.as_deref(), arguments.new.as_deref()];
    let [mut old, mut new] = match sides(named, arguments.staged, &arguments.settings) {
        Ok(sides) => sides,
        Err(status) => return status,
    };
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

/// Reads both sides: what is named, else the last commit and this folder, or what is `staged`.
///
/// # Errors
/// What the program ends with; what is wrong has been told.
pub(super) fn sides(
    [old, new]: [Option<&str>; 2],
    staged: bool,
    settings: &settings::Choice,
) -> Result<[Side; 2], Status> {
    let is_alone = new.is_none();
    let old = Named::of(old.unwrap_or("HEAD"));
    let new = if staged { Named::Staged } else { Named::of(new.unwrap_or(".")) };
    if let (Named::Path(path), true) = (&old, is_alone)
        && Path::new(path).is_file()
    {
        return Err(wrong_usage(&format!(
            "a file is compared with another one: `walkaround compare {path} OTHER`, or `walkaround compare HEAD {path}`"
        )));
    }
    let sides = side(&old, &new, settings).and_then(|old_side| Ok([old_side, side(&new, &old, settings)?]));
    let sides = sides.map_err(|message| {
        tell(&message);
        Status::NotUnderstood
    })?;
    if sides.iter().all(|side| side.workspace.count() == 0) {
        return Err(wrong_usage("neither side has a file that ends in .rig: there is nothing to compare"));
    }
    Ok(sides)
}

/// Reads a side. A revision is read where the `other` side's path is; a file is read with what stands around it, but for the
/// other side's file.
///
/// # Errors
/// Why it can't be read, in words.
fn side(named: &Named<'_>, other: &Named<'_>, settings: &settings::Choice) -> Result<Side, String> {
    // Where the other side is a part of this folder, so is this one.
    let is_below =
        |path: &&Path| path.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
    let below = other.path().filter(is_below).unwrap_or(Path::new("."));
    let (name, path, files) = match named {
        Named::Path(path) => {
            let name = if *path == "." { "this folder" } else { *path };
            (name.to_owned(), PathBuf::from(path), None)
        }
        Named::Revision(revision) => {
            let files = git::revision(revision)?;
            let name = if *revision == "HEAD" { "the last commit" } else { *revision };
            (name.to_owned(), files.folder.join(below), Some(files.kept))
        }
        Named::Staged => {
            let files = git::staged()?;
            ("what is staged".to_owned(), files.folder.join(below), Some(files.kept))
        }
    };
    if files.is_some() && !path.exists() {
        return Err(format!("{name} has no {}", below.display()));
    }
    let paths = [path];
    let (mut sources, chosen) =
        Sources::choose(&Wanted { paths: &paths, name: "standard input", around: true, settings })?;
    let real = |path: &Path| path.canonicalize().ok().filter(|path| path.is_file());
    if let Some(other) = other.path().and_then(real) {
        let own = paths.iter().find_map(|path| real(path));
        sources.files.retain(|source| {
            let file = real(&source.path);
            file == own || file.as_ref() != Some(&other)
        });
    }
    let mut options = Options { today: day(None).ok(), ..settings::options(&chosen) };
    chosen.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
    let mut workspace = Workspace::new();
    workspace.settings(options);
    sources.load(&mut workspace);
    Ok(Side { name, workspace, _files: files })
}
