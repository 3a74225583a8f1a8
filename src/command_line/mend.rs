//! `walkaround mend`: the mends of findings, done in the texts.

mod account;
mod ask;
mod preview;

use super::inspect::{FailAt, day, matches_nothing, status};
use super::output::{self, Colour, tell, wrong_usage};
use super::record::Record;
use super::sources::{Sources, Wanted};
use super::{Status, settings, writing};
use crate::findings::grading::Grading;
use crate::findings::{Finding, Severity};
use crate::inspect::{Options, Outcome, Workspace};
use crate::mend::{Asked, How, mend};
use crate::source::FileId;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// Mends what is found in the rig files of a settings folder: does the sure mends, and the choices that you take
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders to mend
    #[arg(default_value = ".", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Put each choice to you, in the terminal
    #[arg(long, conflicts_with = "take_choices")]
    ask: bool,
    /// Take the first of each mend's choices
    #[arg(long)]
    take_choices: bool,
    /// Show what would be changed, and change nothing
    #[arg(long)]
    preview: bool,
    /// Mend only findings of rules that match one of these globs, such as `channels/*`
    #[arg(long, value_name = "GLOB", value_delimiter = ',')]
    rules: Vec<String>,
    /// Leave the findings of rules that match one of these globs
    #[arg(long, value_name = "GLOB", value_delimiter = ',')]
    except: Vec<String>,
    /// The least severity that makes the exit status 1 (default: the settings file's, else caution)
    #[arg(long, value_enum)]
    fail_at: Option<FailAt>,
    #[command(flatten)]
    settings: settings::Choice,
    /// The day that waivers are held against, as YYYY-MM-DD (default: the clock's)
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
}

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    match wrong(arguments) {
        Some(message) => wrong_usage(&message),
        None => run_checked(arguments, colour),
    }
}

/// What is wrong with the arguments.
fn wrong(arguments: &Arguments) -> Option<String> {
    if arguments.paths.iter().any(|path| path.as_os_str() == "-") {
        return Some("mend changes files: standard input can only be inspected".to_owned());
    }
    let glob = matches_nothing(&arguments.rules, &arguments.except)?;
    Some(format!("no rule matches \"{glob}\"; `walkaround why` lists them all"))
}

fn run_checked(arguments: &Arguments, colour: Colour) -> Status {
    let today = match day(arguments.today.as_deref()) {
        Ok(today) => today,
        Err(message) => return wrong_usage(&message),
    };
    let chosen = match Chosen::new(&arguments.rules, &arguments.except) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    let (mut sources, settings) = match Sources::choose(&Wanted {
        paths: &arguments.paths,
        name: "",
        around: true,
        settings: &arguments.settings,
    }) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    sources.left.iter().for_each(|left| tell(left));
    if sources.is_empty() {
        tell("there is nothing to mend: no file that ends in .rig was found");
        return Status::NotUnderstood;
    }
    let (_, known) = match Record::open(None, &settings, &mut sources) {
        Ok(record) => record,
        Err(message) => return wrong_usage(&message),
    };
    // All rules are asked, also those whose findings stay, so that no mend brings a danger that nobody looks for.
    let mut grading = Grading::default();
    settings.grades.iter().for_each(|(name, grade)| grading.grade(name, *grade));
    let fail_at = arguments.fail_at.map(FailAt::severity).or(settings.fail_at).unwrap_or(Severity::Caution);
    let options = Options { grading, today: Some(today), known, ..settings::options(&settings) };
    let mut workspace = Workspace::with(options);
    sources.load(&mut workspace);
    let around = Around::of(&workspace);
    let texts: Vec<Vec<u8>> = around.firsts.iter().map(|text| text.to_vec()).collect();
    // A file that is read only for what it defines stays as it is.
    let named = |file: FileId| sources.is_named(around.name(file));
    let mut look = |texts: &[Vec<u8>]| {
        for ((name, first), text) in around.names.iter().zip(&around.firsts).zip(texts) {
            // One that can't be read has no text, and stays so.
            if !first.is_empty() || !text.is_empty() {
                workspace.set(name, text.as_slice());
            }
        }
        workspace.outcome()
    };
    let wanted = |finding: &Finding| {
        chosen.takes(finding.rule)
            && named(finding.place.file)
            && finding.mend.edits().all(|edit| named(edit.place.file))
    };
    let mut pilot = ask::Pilot::new(&around, arguments.preview, colour);
    let mut question = |asked: &Asked<'_>| pilot.answer(asked);
    let how = match (arguments.ask, arguments.take_choices) {
        (true, _) => How::Ask(&mut question),
        (_, true) => How::First,
        _ => How::Sure,
    };
    let mended = mend(texts, &mut look, &wanted, how);
    // What is not asked for has no part in the status; a fault always has.
    let after = status(
        &judged(&mended.outcome, &|finding| {
            named(finding.place.file) && (finding.severity == Severity::Fault || chosen.takes(finding.rule))
        }),
        fail_at,
    );
    let changed: Vec<(&str, &Path, &[u8], &[u8])> = sources
        .files
        .iter()
        .zip(&around.firsts)
        .zip(&mended.texts)
        .filter(|((_, before), after)| ***before != ***after)
        .map(|((source, before), after)| (source.shown.as_str(), source.path.as_path(), &**before, after.as_slice()))
        .collect();
    let lines = Default::default();
    let account = account::Account { around: &around, mended: &mended, changed: changed.len(), lines };
    if arguments.preview {
        let shown = output::write(after, |out| {
            for (name, _, before, after) in &changed {
                preview::write(name, before, after, colour.is_on(), out)?;
            }
            Ok(())
        });
        account.tell(true);
        return shown;
    }
    if !writing::write_all(changed.iter().map(|&(_, path, before, after)| (path, before, after))) {
        return Status::NotUnderstood;
    }
    output::show(after, |out| account.write(false, out))
}

/// The names of all files and their texts as they were at first.
struct Around {
    names: Vec<String>,
    /// Those of the files that describe the fleet.
    firsts: Vec<Arc<[u8]>>,
    /// The texts behind them, which no mend touches.
    others: Vec<Arc<[u8]>>,
}

impl Around {
    fn of(workspace: &Workspace) -> Self {
        let text = |index: usize| workspace.text(FileId(index as u32)).unwrap_or_default();
        Self {
            names: workspace.names().to_vec(),
            firsts: (0..workspace.count()).map(text).collect(),
            others: (workspace.count()..workspace.names().len()).map(text).collect(),
        }
    }

    fn name(&self, file: FileId) -> &str {
        self.names.get(file.0 as usize).map_or("", String::as_str)
    }

    /// The text of a file that describes no fleet.
    fn other_text(&self, file: FileId) -> Option<&Arc<[u8]>> {
        self.others.get((file.0 as usize).checked_sub(self.firsts.len())?)
    }
}

/// The rules whose findings are mended. Unlike an inspection, which always asks whether it understood everything, this
/// can leave faults and waivers alone.
struct Chosen {
    rules: Vec<globset::GlobMatcher>,
    except: Vec<globset::GlobMatcher>,
}

impl Chosen {
    fn new(rules: &[String], except: &[String]) -> Result<Self, String> {
        let all = |globs: &[String]| -> Result<Vec<_>, String> {
            let of = |glob: &String| {
                let whole = if glob.contains('/') { glob.clone() } else { format!("{{{glob},{glob}/*}}") };
                let made = globset::Glob::new(&whole);
                made.map(|made| made.compile_matcher()).map_err(|error| format!("`{glob}`: {}", error.kind()))
            };
            globs.iter().map(of).collect()
        };
        Ok(Self { rules: all(rules)?, except: all(except)? })
    }

    fn takes(&self, rule: &str) -> bool {
        (self.rules.is_empty() || self.rules.iter().any(|glob| glob.is_match(rule)))
            && !self.except.iter().any(|glob| glob.is_match(rule))
    }
}

/// What the exit status is about.
fn judged(outcome: &Outcome, counts: &dyn Fn(&Finding) -> bool) -> Outcome {
    let findings = outcome.findings.iter().filter(|finding| counts(finding));
    Outcome { findings: findings.cloned().collect(), ..Outcome::default() }
}
