//! `walkaround mend`: the mends of findings, done in the texts.

mod account;
mod ask;
mod preview;

use super::inspect::{FailAt, day, judge, matches_nothing, status};
use super::output::{self, tell, wrong_usage};
use super::record::Record;
use super::sources::{Sources, Wanted};
use super::{Status, json_files, settings, writing};
use crate::findings::grading::Grading;
use crate::findings::{Finding, Severity};
use crate::mend::{Asked, How, mend};
use crate::rules::engine::{Options, Outcome, ReadFile};
use crate::source::FileId;
use crate::syntax::Tables;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// Mends what is found in the rig files of a settings folder: does the sure mends, and the choices that you take
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders to mend
    #[arg(default_value = ".")]
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
    /// The day that waivers are held against, as YYYY-MM-DD (default: the clock's)
    #[arg(long, value_name = "DAY")]
    today: Option<String>,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    match wrong(arguments) {
        Some(message) => wrong_usage(&message),
        None => run_checked(arguments),
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

fn run_checked(arguments: &Arguments) -> Status {
    let today = match day(arguments.today.as_deref()) {
        Ok(today) => today,
        Err(message) => return wrong_usage(&message),
    };
    let chosen = match Chosen::new(&arguments.rules, &arguments.except) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    let (mut sources, settings) = match Sources::choose(&Wanted { paths: &arguments.paths, name: "" }) {
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
    let files = sources.bytes();
    let texts: Vec<Vec<u8>> =
        files.iter().map(|file| file.as_ref().map_or_else(Vec::new, |(_, text)| text.clone())).collect();
    let readable: Vec<bool> = files.iter().map(Option::is_some).collect();
    let mut look = |texts: &[Vec<u8>]| look(texts, &readable, &sources, &options);
    let wanted = |finding: &Finding| chosen.takes(finding.rule);
    let mut pilot = ask::Pilot::new(&sources, arguments.preview);
    let mut question = |asked: &Asked<'_>| pilot.answer(asked);
    let how = match (arguments.ask, arguments.take_choices) {
        (true, _) => How::Ask(&mut question),
        (_, true) => How::First,
        _ => How::Sure,
    };
    let mut mended = mend(texts, &mut look, &wanted, how);
    // What is not asked for has no part in the status; a fault always has.
    let after = status(&judged(&mut mended.outcome, &chosen), fail_at);
    let changed: Vec<(usize, &Path, &[u8], &[u8])> = files
        .iter()
        .zip(&mended.texts)
        .enumerate()
        .filter_map(|(index, (file, after))| {
            let (path, before) = file.as_ref()?;
            (before != after).then_some((index, path.as_path(), before.as_slice(), after.as_slice()))
        })
        .collect();
    let firsts: Vec<&[u8]> =
        files.iter().map(|file| file.as_ref().map_or(&[][..], |(_, text)| text.as_slice())).collect();
    let changes = changed.len();
    let lines = Default::default();
    let account = account::Account { sources: &sources, mended: &mended, firsts: &firsts, changed: changes, lines };
    if arguments.preview {
        let shown = output::write(after, |out| {
            for (index, _, before, after) in &changed {
                preview::write(&sources.shown[*index], before, after, output::colour(), out)?;
            }
            Ok(())
        });
        account.tell(true);
        return shown;
    }
    if !writing::write_all(changed.iter().map(|&(_, path, before, after)| (path, before, after))) {
        return Status::NotUnderstood;
    }
    output::write(after, |out| account.write(false, out))
}

/// Reads and judges the texts as they are now.
fn look(texts: &[Vec<u8>], readable: &[bool], sources: &Sources, options: &Options) -> Outcome {
    let one = |tables: &mut Tables, (index, text): (usize, &Vec<u8>)| -> Option<ReadFile> {
        let file = FileId(index as u32);
        let read = json_files::reader(sources.is_json(file));
        readable.get(index).is_some_and(|readable| *readable).then(|| read(file, text, tables))
    };
    let files: Vec<ReadFile> = texts.par_iter().enumerate().map_init(Tables::default, one).flatten().collect();
    let text_of = |file: FileId| match texts.get(file.0 as usize) {
        Some(text) if sources.is_json(file) => Some(json_files::rig_text(file, text)),
        Some(text) => Some(text.clone()),
        None => sources.other_text(file).map(<[u8]>::to_vec),
    };
    let mut outcome = judge(files, options, sources.faults.clone(), &text_of);
    // No edit is left in a JSON file then: its mends are words.
    let json_of = |file: FileId| texts.get(file.0 as usize).filter(|_| sources.is_json(file)).cloned();
    json_files::lead_back(&mut outcome.findings, &json_of);
    outcome
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

/// What the exit status is about: faults, and the findings of the rules that were to be mended.
fn judged(outcome: &mut Outcome, chosen: &Chosen) -> Outcome {
    let findings = outcome.findings.iter();
    let counts = |finding: &&Finding| finding.severity == Severity::Fault || chosen.takes(finding.rule);
    Outcome { findings: findings.filter(counts).cloned().collect(), ..Outcome::default() }
}
