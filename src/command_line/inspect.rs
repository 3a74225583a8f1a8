//! `walkaround inspect`: the main job.

mod watch;

use super::output::{self, Colour, tell, wrong_usage};
use super::record::Record;
use super::sources::{Sources, Wanted, real_names};
use super::{Status, settings, threads};
use crate::findings::grading::Grading;
use crate::findings::verdict::NOT_DECIDED;
use crate::findings::{Finding, Mend, Severity, is_protected};
use crate::fleet::day::Day;
use crate::inspect::{Options, Outcome, Workspace};
use crate::mend;
use crate::report::paint::Paint;
use crate::report::plain::plain;
use crate::report::record::out_of_date;
use crate::report::{Report, annotations, code_quality, counts, coverage, json, junit, lines, sarif, text};
use crate::rules::book;
use crate::settings::Settings;
use crate::source::FileId;
use clap::ValueEnum;
use compact_str::CompactString;
use rustc_hash::FxHashSet;
use std::io::{self, Write};
use std::mem::ManuallyDrop;
use std::ops::Range;
use std::path::PathBuf;
use std::sync::Arc;

/// Inspects the rig files of a settings folder: prints findings with the lines that cause them, then a line for each
/// aircraft with its verdict
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders to inspect; `-` is standard input. Beside a file the rest of its folder is read too, so that it is
    /// known what is defined there, and only what concerns the file is shown: the folder of the settings file with all
    /// folders in it, and without a settings file those files alone that lie beside it
    #[arg(default_value = ".", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Show only what concerns these aircraft
    #[arg(long, value_name = "AIRCRAFT", value_delimiter = ',')]
    aircraft: Vec<String>,
    /// How the findings are written
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
    /// The least severity that makes the exit status 1 (default: the settings file's, else caution)
    #[arg(long, value_enum)]
    fail_at: Option<FailAt>,
    /// Ask only rules that match one of these globs, such as `arming/*`
    #[arg(long, value_name = "GLOB", value_delimiter = ',')]
    rules: Vec<String>,
    /// Leave out rules that match one of these globs
    #[arg(long, value_name = "GLOB", value_delimiter = ',')]
    except: Vec<String>,
    /// The day that waivers are held against, as YYYY-MM-DD (default: the clock's)
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
    /// Write what is found to this file as known, so that later runs speak of new findings only
    #[arg(long, value_name = "FILE")]
    record: Option<PathBuf>,
    /// Tell each finding with its steps on the bench, all its places and all waivers, instead of in a few lines
    #[arg(long)]
    full: bool,
    /// Write one line where nothing is at or above the threshold: for hooks
    #[arg(long, conflicts_with_all = ["full", "coverage"])]
    quiet: bool,
    /// Instead of findings, show which rules were asked of each aircraft, and what the others would need
    #[arg(long)]
    coverage: bool,
    /// The file that standard input stands for: it is read in that file's place, with the rest of its folder
    #[arg(long)]
    name: Option<String>,
    /// Instead of findings, show how many each rule has
    #[arg(long, conflicts_with_all = ["full", "quiet", "coverage"])]
    count: bool,
    /// Inspect nothing: list the files that would be inspected
    #[arg(long, conflicts_with_all = ["full", "quiet", "coverage", "count", "record"])]
    list_files: bool,
    /// Inspect again whenever a file changes, comes or goes, until ctrl-C
    #[arg(long, conflicts_with_all = ["list_files", "record"])]
    watch: bool,
    /// What the columns of `--as lines` count
    #[arg(long, value_enum)]
    columns: Option<Columns>,
    #[command(flatten)]
    settings: settings::Choice,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Columns {
    /// Unicode characters, as everywhere else
    Characters,
    /// Bytes of UTF-8, for editors whose error lists count these
    Bytes,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// For people, with excerpts
    Text,
    /// One line a finding: file:line:column: severity rule message
    Lines,
    /// For programs
    Json,
    /// For code hosts and editors: a SARIF 2.1.0 log
    Sarif,
    /// For the log of a CI run: CI log lines
    Annotations,
    /// For forges that show a code quality list beside a change: a JSON array
    CodeQuality,
    /// For CI services that show test results: XML with a suite an aircraft and a case a rule
    Junit,
}

impl Form {
    /// Whether other programs look up the files by their names.
    const fn is_looked_up(self) -> bool {
        matches!(self, Self::Sarif | Self::Annotations | Self::CodeQuality | Self::Junit)
    }
}

impl Arguments {
    /// Whether what is printed shows the choices of mends.
    const fn shows_choices(&self) -> bool {
        match self.form {
            Form::Text => !self.count && !self.coverage,
            Form::Json | Form::Sarif | Form::Junit => true,
            Form::Lines | Form::Annotations | Form::CodeQuality => false,
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum FailAt {
    Danger,
    Caution,
    Note,
}

impl FailAt {
    pub(super) const fn severity(self) -> Severity {
        match self {
            Self::Danger => Severity::Danger,
            Self::Caution => Severity::Caution,
            Self::Note => Severity::Note,
        }
    }
}

/// The clock's day, or the one that is given.
///
/// # Errors
/// What is wrong with the text, in words.
pub(super) fn day(given: Option<&str>) -> Result<Day, String> {
    let now = || match time_zone_can_be_read() {
        true => jiff::ZonedDateTime::now().date(),
        false => jiff::Timestamp::now().to_zoned_datetime(jiff::tz::TimeZone::UTC).date(),
    };
    let text = given.map_or_else(|| now().to_string(), str::to_owned);
    Day::parse(&text).map_err(|error| format!("--today {text}: {error}"))
}

/// Whether `TZ` names no file, or one that ends: a device is read without end.
fn time_zone_can_be_read() -> bool {
    let Some(name) = std::env::var_os("TZ") else { return true };
    let name = name.to_string_lossy();
    let path = std::path::Path::new(name.strip_prefix(':').unwrap_or(&name));
    std::fs::metadata(path).map_or(true, |file| file.is_file() && file.len() <= LARGEST_ZONE)
}

/// No description of a time zone has more bytes.
const LARGEST_ZONE: u64 = 1 << 20;

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    if let Err(message) = are_sound(arguments) {
        return wrong_usage(&message);
    }
    let chosen = match Chosen::of(arguments) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    match () {
        () if arguments.list_files => list_files(&chosen.sources),
        () if arguments.watch => watch::run(arguments, chosen, colour),
        () if chosen.sources.is_empty() => {
            tell(&chosen.nothing());
            Status::NotUnderstood
        }
        () => {
            // The process ends behind it, and takes apart sooner what was built than we can.
            let mut workspace = ManuallyDrop::new(Workspace::with(chosen.options.clone()));
            chosen.sources.load(&mut workspace);
            chosen.report(arguments, &mut workspace, colour)
        }
    }
}

/// What is wrong with the arguments, before a file is looked at.
fn are_sound(arguments: &Arguments) -> Result<(), String> {
    let stdin = arguments.paths.iter().any(|path| path.as_os_str() == "-");
    let wrong = match () {
        () if arguments.name.is_some() && !stdin => "--name names standard input: give `-` as the path",
        () if (arguments.full || arguments.quiet) && arguments.form != Form::Text => {
            "--full and --quiet are about the report for people; the other forms hold everything"
        }
        () if arguments.coverage && arguments.form != Form::Text => {
            "--coverage is a table for people; --as json holds the same beside each aircraft"
        }
        () if (arguments.count || arguments.list_files) && arguments.form != Form::Text => {
            "--count and --list-files are lists of their own, and have no other form"
        }
        () if arguments.columns.is_some() && arguments.form != Form::Lines => {
            "--columns is about --as lines; the other forms say what their columns count"
        }
        () if arguments.record.is_some() && stdin => "--record needs the files themselves, not standard input",
        () if arguments.watch && stdin => "--watch needs files, which can change, not standard input",
        () => {
            return match matches_nothing(&arguments.rules, &arguments.except) {
                Some(glob) => Err(format!("no rule matches \"{glob}\"; `walkaround why` lists them all")),
                None => Ok(()),
            };
        }
    };
    Err(wrong.to_owned())
}

/// The files of a run, and how it is done.
struct Chosen {
    sources: Sources,
    settings: Settings,
    record: Record,
    options: Options,
}

impl Chosen {
    /// Chooses the files, and reads what the settings say.
    ///
    /// # Errors
    /// What is wrong with the arguments, in words.
    fn of(arguments: &Arguments) -> Result<Self, String> {
        let today = day(arguments.today.as_deref())?;
        let mut grading = Grading::new(&arguments.rules, &arguments.except).map_err(|error| error.to_string())?;
        let stdin = arguments.paths.iter().any(|path| path.as_os_str() == "-");
        let wanted = Wanted {
            paths: &arguments.paths,
            name: arguments.name.as_deref().unwrap_or("standard-input.rig"),
            around: !stdin || arguments.name.is_some(),
            settings: &arguments.settings,
        };
        let (mut sources, settings) = Sources::choose(&wanted)?;
        let (record, known) = Record::open(arguments.record.as_deref(), &settings, &mut sources)?;
        settings.grades.iter().for_each(|(name, grade)| grading.grade(name, *grade));
        let options = Options { grading, today: Some(today), known, ..settings::options(&settings) };
        Ok(Self { sources, settings, record, options })
    }

    /// The words for a run without a file.
    fn nothing(&self) -> String {
        let left = match self.sources.left.is_empty() {
            true => "no file was given".to_owned(),
            false => self.sources.left.join("; "),
        };
        format!(
            "there is nothing to inspect: {left}. A description begins with the line `rig 1`; `walkaround reference` lists what can follow"
        )
    }

    /// Inspects what the workspace holds, and writes what was asked for.
    fn report(&self, arguments: &Arguments, workspace: &mut Workspace, colour: Colour) -> Status {
        let Self { sources, settings, record, .. } = self;
        let fail_at = arguments.fail_at.map(FailAt::severity).or(settings.fail_at).unwrap_or(Severity::Caution);
        sources.left.iter().for_each(|left| tell(left));
        let mut outcome = workspace.outcome();
        if let Some(message) = unknown_aircraft(&outcome, &arguments.aircraft) {
            return wrong_usage(&message);
        }
        let known = &workspace.options().known;
        if let Err(error) = record.write(known, &outcome, sources, settings) {
            tell(&format!("the findings can't be recorded: {error}"));
            return Status::NotUnderstood;
        }
        let stale = record.stale(known, &outcome, sources);
        if !matches!(arguments.form, Form::Text | Form::Json | Form::Sarif) || arguments.count {
            // These forms have no place for it.
            out_of_date(&stale).iter().for_each(|words| tell(words));
        }
        if arguments.shows_choices() {
            warn_of_choices(workspace, &mut outcome);
        }
        sources.around.iter().filter(|_| !arguments.quiet).for_each(|around| tell(around));
        narrow(Arc::make_mut(&mut outcome), workspace, sources, &arguments.aircraft);
        let real = arguments.form.is_looked_up().then(|| real_names(workspace.names()));
        let paths = real.as_deref().unwrap_or(workspace.names());
        let text_of = &|file| workspace.text(file);
        let report = Report { stale: &stale, ..Report::of(&outcome, paths, workspace.count(), text_of) };
        let status = status(&outcome, fail_at);
        let paint = Paint(colour.is_on());
        if arguments.form == Form::Text {
            return output::show(status, |out| match () {
                // An empty list would say less than that nothing was found.
                () if arguments.count && report.findings.is_empty() => text::write_totals(&report, out),
                () if arguments.count => counts::write(&report, paint, out),
                () if arguments.coverage => coverage::write(&report, output::width(), out),
                () if arguments.quiet && status == Status::Clean => text::write_totals(&report, out),
                () => write_text(
                    &report,
                    text::Style { colour: paint.0, width: output::width(), full: arguments.full },
                    out,
                ),
            });
        }
        let columns = match arguments.columns {
            Some(Columns::Bytes) => lines::Columns::Bytes,
            _ => lines::Columns::Characters,
        };
        output::write(status, |out| match arguments.form {
            Form::Text => Ok(()),
            Form::Lines => lines::write(&report, columns, out),
            Form::Json => json::write(&report, out),
            Form::Sarif => sarif::write(&report, out),
            Form::Annotations => annotations::write(&report, out),
            Form::CodeQuality => code_quality::write(&report, out),
            Form::Junit => junit::write(&report, &|finding| fails(finding, fail_at), out),
        })
    }
}

/// Lists the files about which an inspection would speak.
fn list_files(sources: &Sources) -> Status {
    let mut status = Status::Clean;
    for (name, fault) in sources.faults() {
        tell(&format!("{name}: {}", fault.message));
        status = Status::NotUnderstood;
    }
    sources.left.iter().for_each(|left| tell(left));
    let named = |name: &str| sources.is_named(name);
    let around = sources.files.iter().filter(|source| !named(&source.shown)).count();
    if around > 0 {
        let (files, are) = if around == 1 { ("file", "is") } else { ("files", "are") };
        tell(&format!("{around} more {files} {are} read only to know what is defined there"));
    }
    let given = sources.given().map(|(name, _)| name);
    let names = sources.files.iter().map(|source| source.shown.as_str()).filter(|name| named(name));
    output::write(status, |out| given.into_iter().chain(names).try_for_each(|name| writeln!(out, "{}", plain(name))))
}

/// Says beside the choices about an aircraft with rules of the pilot's own which of them would break one, or bring another danger.
fn warn_of_choices(workspace: &mut Workspace, outcome: &mut Arc<Outcome>) {
    let fleet = workspace.fleet();
    let models = fleet.models.iter().filter(|model| !model.expects.is_empty());
    let crafts = fleet.crafts.iter().filter(|craft| !craft.expects.is_empty());
    let held: FxHashSet<CompactString> = models
        .flat_map(|model| model.flies.iter().map(|name| name.value.clone()))
        .chain(crafts.map(|craft| craft.head.name.value.clone()))
        .collect();
    let wanted = |finding: &Finding| {
        matches!(finding.mend, Mend::Choices(..)) && finding.aircraft.iter().any(|name| held.contains(name))
    };
    if !outcome.findings.iter().any(wanted) {
        return;
    }
    let names = workspace.names().to_vec();
    let count = u32::try_from(workspace.count()).unwrap_or(u32::MAX);
    let texts = (0..count).map(|file| workspace.text(FileId(file)).unwrap_or_default().to_vec());
    let texts: Vec<Vec<u8>> = texts.collect();
    let mut look = |tried: &[Vec<u8>]| {
        for ((name, text), first) in names.iter().zip(tried).zip(&texts) {
            // One that can't be read has no text, and stays so.
            if !first.is_empty() || !text.is_empty() {
                workspace.set(name, text.as_slice());
            }
        }
        workspace.outcome()
    };
    let warnings = mend::warnings(&texts, &mut look, &wanted);
    let findings = &mut Arc::make_mut(outcome).findings;
    for warning in warnings {
        let finding = findings.get_mut(warning.finding);
        if let Some(Finding { mend: Mend::Choices(_, choices), .. }) = finding
            && let Some(choice) = choices.get_mut(warning.choice)
        {
            choice.label += &match warning.rule {
                "house/expect-failed" => " (this breaks an `expect`)".to_owned(),
                rule => format!(" (this brings another danger, {rule})"),
            };
        }
    }
}

/// What is wrong with the names of aircraft that only are to be shown.
fn unknown_aircraft(outcome: &Outcome, wanted: &[String]) -> Option<String> {
    let names = || outcome.aircraft.iter().map(|known| known.name.as_str());
    let unknown = wanted.iter().find(|name| names().all(|known| known != name.as_str()))?;
    Some(output::no_such("aircraft", unknown, names()))
}

/// Leaves what concerns the files and the aircraft that were asked for, and says what else there is.
fn narrow(outcome: &mut Outcome, workspace: &Workspace, sources: &Sources, aircraft: &[String]) {
    if aircraft.is_empty() && !sources.has_around() {
        return;
    }
    let named = |file: FileId| workspace.names().get(file.0 as usize).is_some_and(|name| sources.is_named(name));
    let fleet = workspace.fleet();
    let mut here: FxHashSet<&str> = FxHashSet::default();
    let crafts = fleet.crafts.iter().filter(|craft| named(craft.head.file));
    here.extend(crafts.map(|craft| craft.head.name.value.as_str()));
    let models = fleet.models.iter().filter(|model| named(model.head.file));
    here.extend(models.flat_map(|model| &model.flies).map(|name| name.value.as_str()));
    let asked = |name: &str| aircraft.is_empty() || aircraft.iter().any(|wanted| wanted == name);
    let about = |names: &[CompactString]| names.iter().any(|name| here.contains(name.as_str()) && asked(name));
    let in_file = |finding: &Finding| {
        // A file beside the fleet, such as the settings, concerns all of it.
        let places = std::iter::once(&finding.place).chain(finding.others.iter().map(|(place, _)| place));
        places.map(|place| place.file).any(|file| file.0 as usize >= workspace.count() || named(file))
    };
    let wanted = |finding: &Finding| about(&finding.aircraft) || aircraft.is_empty() && in_file(finding);
    let gone = outcome.narrow(&wanted, &|name| here.contains(name) && asked(name));
    outcome.waived.retain(|waived| about(&waived.aircraft) || aircraft.is_empty() && named(waived.place.file));
    if gone > 0 {
        let (findings, are) = if gone == 1 { ("finding", "is") } else { ("findings", "are") };
        tell(&format!(
            "{gone} more {findings} of this folder {are} not shown here: `walkaround inspect` without names shows all"
        ));
    }
}

/// So many parts of a report are kept before they are written out.
const PARTS_AT_ONCE: usize = 24;

/// Writes a report for people, on all cores where there is enough to write.
fn write_text(report: &Report<'_>, style: text::Style, out: &mut dyn Write) -> io::Result<()> {
    let pages = text::Pages::new(report, style);
    let parts: Vec<Range<usize>> = pages.parts().collect();
    for parts in parts.chunks(PARTS_AT_ONCE) {
        let write = |part: &Range<usize>| pages.write(part.clone(), String::new());
        match parts {
            [part] => out.write_all(write(part).as_bytes())?,
            _ => threads::map(parts, || (), |(), part| write(part))
                .iter()
                .try_for_each(|text| out.write_all(text.as_bytes()))?,
        }
    }
    pages.close(out)
}

/// The first glob that matches no rule.
pub(super) fn matches_nothing<'g>(rules: &'g [String], except: &'g [String]) -> Option<&'g str> {
    rules.iter().chain(except).map(String::as_str).find(|glob| {
        let only = Grading::new(&[(*glob).to_owned()], &[]);
        only.is_ok_and(|only| {
            !book::BOOK.iter().any(|doc| only.asks(doc.id) && !is_protected(doc.id)) && !matches_protected(glob)
        })
    })
}

/// Whether a glob matches rules that are always asked.
fn matches_protected(glob: &str) -> bool {
    let set = globset::Glob::new(glob).map(|glob| glob.compile_matcher());
    set.is_ok_and(|set| {
        book::BOOK.iter().any(|doc| is_protected(doc.id) && (set.is_match(doc.id) || doc.group == glob))
    })
}

/// Whether a finding makes a run fail.
fn fails(finding: &Finding, fail_at: Severity) -> bool {
    // What was not decided has the severity of its rule, at most caution; a danger may hide behind it.
    let threshold = if finding.rule == NOT_DECIDED { fail_at.min(Severity::Caution) } else { fail_at };
    finding.severity >= threshold
}

/// The exit status: it does not depend on the form of the report.
pub(super) fn status(outcome: &Outcome, fail_at: Severity) -> Status {
    let mut status = Status::Clean;
    for finding in &outcome.findings {
        if finding.severity == Severity::Fault {
            return Status::NotUnderstood;
        }
        if fails(finding, fail_at) {
            status = Status::Found;
        }
    }
    debug_assert!(book::find(NOT_DECIDED).is_some());
    status
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_not_decided_fails_a_run() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/fleets/clean");
        let paths = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
        let mut paths: Vec<_> = paths.filter(|path| path.extension().is_some_and(|ending| ending == "rig")).collect();
        paths.sort();
        let texts: Vec<Vec<u8>> = paths.iter().map(|path| std::fs::read(path).unwrap()).collect();
        let texts: Vec<&[u8]> = texts.iter().map(Vec::as_slice).collect();
        let run = |budget| {
            let options = Options { today: Day::new(2026, 11, 25), budget, ..Options::default() };
            crate::inspect::inspect(&texts, &options)
        };
        let (whole, cut_short) = (run(None), run(Some(1)));
        for fail_at in [Severity::Note, Severity::Caution, Severity::Danger] {
            assert_eq!(status(&whole, fail_at), Status::Clean);
            assert_eq!(status(&cut_short, fail_at), Status::Found);
        }
    }
}
