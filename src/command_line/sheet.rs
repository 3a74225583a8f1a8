//! `walkaround sheet`: a printed page an aircraft.

use super::inspect::day;
use super::output::{self, tell, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, compare, new_file, record, settings};
use crate::fleet::craft::Craft;
use crate::inspect::{Options, Workspace};
use crate::report::Report;
use crate::report::sheet::{GENERATOR, Sheet, live};
use crate::settings::{FILE_NAME, Settings, disk};
use crate::setup::ModelSetup;
use crate::sheet::{Front, Page, models_of};
use std::io::{self, BufWriter, IsTerminal, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Writes a sheet to print: a page an aircraft with what its switches do and a bench check to tick off, in one HTML file that
/// needs no network and no script
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// The aircraft (default: all of them, behind a first page with who connects to whom); a folder that is named by its path, such as
    /// club/wings, is where the settings are, as behind --in
    #[arg(value_name = "AIRCRAFT")]
    aircraft: Vec<String>,
    /// Write only what is printed of one aircraft, without the plots that stand below it on a screen
    #[arg(long, value_name = "AIRCRAFT", conflicts_with_all = ["aircraft", "live"])]
    page: Option<String>,
    /// Where the settings are
    #[arg(long = "in", value_name = "PATH", default_value = ".")]
    place: PathBuf,
    /// Write the live bench instead: one HTML file for a browser that works offline, with this folder's texts in it
    #[arg(long, conflicts_with_all = ["aircraft", "today"])]
    live: bool,
    /// Write what a change does instead, as it was and as it is side by side: two folders, files or git revisions, as `walkaround
    /// compare` takes them (default: the last commit and this folder)
    #[arg(long, value_name = "OLD NEW", num_args = 0..=2, conflicts_with_all = ["aircraft", "page", "live", "today", "place"])]
    compare: Option<Vec<String>>,
    /// The file to write; a sheet that is there already is written over, and nothing else is (default: standard output)
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// The day that stands on the sheet and that waivers are held against, as YYYY-MM-DD (default: the clock's)
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
    #[command(flatten)]
    settings: settings::Choice,
}

impl Arguments {
    /// Where the settings are, and the aircraft that are named: the first of them may be the path of a folder.
    fn place_and_named(&self) -> (PathBuf, Vec<&String>) {
        let is_folder = |name: &&String| name.contains(std::path::is_separator) && Path::new(name).is_dir();
        let folder = self.aircraft.first().filter(|name| self.place == Path::new(".") && is_folder(name));
        let named = self.aircraft.iter().skip(usize::from(folder.is_some())).chain(&self.page).collect();
        (folder.map_or_else(|| self.place.clone(), PathBuf::from), named)
    }
}

/// The live bench; empty in a program that was built without it.
const PAGE: &str = include_str!(concat!(env!("OUT_DIR"), "/page.html"));

/// So much of a file is looked at to know a sheet again.
const LOOKED_AT: usize = 1024;

pub(super) fn run(arguments: &Arguments) -> Status {
    let today = match day(arguments.today.as_deref()) {
        Ok(today) => today,
        Err(message) => return wrong_usage(&message),
    };
    if arguments.out.is_none() && io::stdout().is_terminal() {
        return wrong_usage("a sheet is a file for a browser: name it with --out sheet.html");
    }
    if let Some(file) = &arguments.out
        && !may_be_written(file)
    {
        return wrong_usage(&format!("{} is there already and is no sheet, so it stays as it is", file.display()));
    }
    if let Some(named) = &arguments.compare {
        return write_changes(arguments, named);
    }
    let (place, named) = arguments.place_and_named();
    let paths = [place];
    let (sources, settings) =
        match Sources::choose(&Wanted { paths: &paths, name: "", around: true, settings: &arguments.settings }) {
            Ok(chosen) => chosen,
            Err(message) => return wrong_usage(&message),
        };
    if arguments.live {
        return write_live(arguments, &sources, &settings);
    }
    let mut options = Options { today: Some(today), ..settings::options(&settings) };
    settings.grades.iter().for_each(|(name, grade)| options.grading.grade(name, *grade));
    let mut workspace = Workspace::with(options);
    sources.load(&mut workspace);
    let outcome = workspace.outcome();
    let context = workspace.context();
    let mut crafts: Vec<&Craft> = Vec::new();
    for name in &named {
        match context.fleet.craft(name) {
            Some(craft) => crafts.push(craft),
            None => {
                let names = context.fleet.crafts.iter().map(|craft| craft.head.name.value.as_str());
                return wrong_usage(&output::no_such("aircraft", name, names));
            }
        }
    }
    if crafts.is_empty() {
        crafts = context.fleet.crafts.iter().collect();
        crafts.sort_by_key(|craft| &craft.head.name.value);
    }
    if crafts.is_empty() {
        let why: Vec<String> = workspace.told_outside().into_iter().chain(sources.left.iter().cloned()).collect();
        tell(&format!(
            "there is no aircraft to write a sheet of{}",
            match why.as_slice() {
                [] => String::new(),
                why => format!(": {}", why.join("; ")),
            }
        ));
        return Status::NotUnderstood;
    }
    let is_flown = |craft: &&&Craft| !models_of(&context, craft).is_empty();
    for craft in crafts.iter().filter(|craft| !is_flown(craft)) {
        tell(&format!("no model flies \"{}\", so it has no page of its own", craft.head.name.value));
    }
    if !named.is_empty() && !crafts.iter().any(|craft| is_flown(&craft)) {
        return Status::WrongUsage;
    }
    let faults = workspace.faults();
    if faults > 0 {
        let faults = if faults == 1 { "1 fault".to_owned() } else { format!("{faults} faults") };
        tell(&format!("{faults} in the description, so the sheet may be wrong: `walkaround inspect` shows where"));
    }
    let text_of = &|file| workspace.text(file);
    let report = Report::of(&outcome, workspace.names(), workspace.count(), text_of);
    let write = |out: &mut dyn Write| {
        let title = match crafts.as_slice() {
            [one] => format!("{}: sheet", one.head.name.value),
            _ => "Before flying: sheets".to_owned(),
        };
        let mut sheet = Sheet::begin(&title, arguments.page.is_none(), out)?;
        if crafts.len() > 1 || named.is_empty() {
            sheet.front(&Front::of(&context, &crafts, &outcome), &report)?;
        }
        for craft in &crafts {
            for model in models_of(&context, craft) {
                let view = ModelSetup::new(&context, model);
                for setup in view.setups.iter().filter(|setup| setup.craft.head.name.value == craft.head.name.value) {
                    sheet.page(&Page::of(setup, &outcome), &report)?;
                }
            }
        }
        sheet.end()
    };
    let status = if faults == 0 { Status::Clean } else { Status::NotUnderstood };
    save(arguments, status, "open it in a browser, and print it from there", write)
}

/// Writes to the file that is named, or to standard output.
fn save(
    arguments: &Arguments,
    status: Status,
    then: &str,
    write: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Status {
    let Some(file) = &arguments.out else { return output::write(status, write) };
    let saved = new_file::save(file, true, |out| {
        let mut out = BufWriter::new(out);
        write(&mut out)?;
        out.flush()
    });
    match saved {
        Ok(()) => {
            tell(&format!("wrote {}: {then}", file.display()));
            status
        }
        Err(error) => {
            tell(&format!("{} can't be written: {error}", file.display()));
            Status::NotUnderstood
        }
    }
}

/// Writes what a change does.
fn write_changes(arguments: &Arguments, named: &[String]) -> Status {
    let named = [0, 1].map(|at: usize| named.get(at).map(String::as_str));
    let [mut old, mut new] = match compare::sides(named, false, &arguments.settings) {
        Ok(sides) => sides,
        Err(status) => return status,
    };
    let comparison = crate::compare::compare(&mut old.workspace, &mut new.workspace);
    let status = if comparison.faults == (0, 0) { Status::Clean } else { Status::NotUnderstood };
    save(arguments, status, "open it in a browser, and print it from there", |out| {
        let mut sheet = Sheet::begin("What a change does", false, out)?;
        sheet.changes(&comparison, [&old.name, &new.name])?;
        sheet.end()
    })
}

/// Writes the live bench with the texts of the folder in it. What is wrong in them, it shows itself.
fn write_live(arguments: &Arguments, sources: &Sources, chosen: &Settings) -> Status {
    if PAGE.is_empty() {
        return wrong_usage(
            "this program was built without the live bench: build the page with page/build and the program with \
             `cargo build --release --features live-page`, or open page/built/walkaround.html and the folder in it",
        );
    }
    let folder = sources.root.as_deref().unwrap_or(&arguments.place);
    let mut texts: Vec<(String, Arc<[u8]>)> = Vec::new();
    for ((name, source), text) in sources.names_below(folder).into_iter().zip(&sources.files).zip(sources.texts()) {
        match text {
            Ok(text) => texts.push((name, text)),
            Err(error) => {
                tell(&format!("{}: {}", source.shown, disk::reason(&error)));
                return Status::NotUnderstood;
            }
        }
    }
    let settings = sources.settings_file.and_then(|at| sources.notes.get(at));
    texts.extend(settings.map(|note| (FILE_NAME.to_owned(), note.text.clone())));
    // One that can't be read is told by the page, at the settings that name it.
    texts.extend(record::named(chosen, folder));
    if texts.is_empty() {
        tell(&format!("there is nothing to write a page of: {}", sources.left.join("; ")));
        return Status::NotUnderstood;
    }
    save(arguments, Status::Clean, "open it in a browser; it works offline", |out| live::write(PAGE, &texts, out))
}

/// Whether a file is not there, or is a sheet.
fn may_be_written(file: &Path) -> bool {
    if file.symlink_metadata().is_err() {
        return true;
    }
    let begins = disk::read(file, LOOKED_AT).unwrap_or_default();
    file.is_file() && String::from_utf8_lossy(&begins).contains(&format!("content=\"{GENERATOR}\""))
}
