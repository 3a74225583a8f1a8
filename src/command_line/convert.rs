//! `walkaround convert`: a rig file as JSON, or the other way round.

use super::output::{self, tell, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, new_file, settings};
use crate::findings::waiver::Waiver;
use crate::fleet::json::{self, Map, Waive};
use crate::fleet::problem::{Problem, ProblemKind};
use crate::fleet::{self, table};
use crate::inspect::Workspace;
use crate::mend::tidy;
use crate::report::plain::{is_unwelcome, plain};
use crate::settings::disk::{self, Source};
use crate::source::{FileId, Lines, Place, Span};
use crate::syntax::{Kind, MAX_BYTES, Tables, parse};
use clap::ValueEnum;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

/// Turns a rig file into JSON, or JSON into a rig file; comments that are no waivers and the layout are not kept
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// The file; `-` is standard input
    file: PathBuf,
    /// The form to turn it into (default: the one that it is not in)
    #[arg(long, value_enum, value_name = "FORM")]
    to: Option<Form>,
    /// Put blocks that are `like` others together first, so that each stands whole; the others are looked for in the file's
    /// folder
    #[arg(long)]
    spelled_out: bool,
    /// The file to write (default: standard output)
    #[arg(long, short, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Write over the file to write if it is there
    #[arg(long, requires = "out")]
    overwrite: bool,
}

#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Form {
    /// Objects in lists, for programs
    Json,
    /// The language of rig files
    Rig,
}

pub(super) fn run(arguments: &Arguments) -> Status {
    let stdin = arguments.file.as_os_str() == "-";
    let read = if stdin {
        let mut bytes = Vec::new();
        io::stdin().lock().take(MAX_BYTES as u64 + 1).read_to_end(&mut bytes).map(|_| bytes)
    } else {
        disk::read(&arguments.file, MAX_BYTES)
    };
    let name = if stdin { "standard input".to_owned() } else { arguments.file.display().to_string() };
    let bytes = match read {
        Ok(bytes) => bytes,
        Err(error) => {
            tell(&format!("{name} can't be read: {error}"));
            return Status::NotUnderstood;
        }
    };
    let from = form_of(&arguments.file, &bytes, stdin);
    if arguments.spelled_out {
        return spelled_out(arguments, stdin, &name);
    }
    if arguments.to == Some(from) {
        let form = if from == Form::Json { "JSON" } else { "a rig file" };
        return wrong_usage(&format!("{name} is {form} already"));
    }
    let turned = match from {
        Form::Json => to_rig(&bytes),
        Form::Rig => to_json(&bytes),
    };
    match turned {
        Ok(text) => give(arguments, &text),
        Err(problems) => {
            let lines = Lines::new(&bytes);
            for problem in &problems {
                let at = lines.position(problem.place.span.start);
                tell(&format!("{name}:{}:{}: {}", at.line, at.column, problem.message));
            }
            tell(&format!("{name} is not converted: what is not understood would be lost"));
            Status::NotUnderstood
        }
    }
}

/// Writes what came of it.
fn give(arguments: &Arguments, text: &str) -> Status {
    match &arguments.out {
        None => output::write(Status::Clean, |out| out.write_all(text.as_bytes())),
        Some(path) => save(path, text.as_bytes(), arguments.overwrite),
    }
}

/// The file with each of its blocks whole.
fn spelled_out(arguments: &Arguments, stdin: bool, name: &str) -> Status {
    if stdin {
        return wrong_usage("standard input has no folder in which other blocks could stand: give a file");
    }
    let folder = match arguments.file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder.to_owned(),
        _ => PathBuf::from("."),
    };
    let (paths, settings) = ([folder, arguments.file.clone()], settings::Choice::default());
    let (sources, settings) =
        match Sources::choose(&Wanted { paths: &paths, name: "", around: false, settings: &settings }) {
            Ok(chosen) => chosen,
            Err(message) => return wrong_usage(&message),
        };
    let mut workspace = Workspace::with(settings::options(&settings));
    sources.load(&mut workspace);
    let real = arguments.file.canonicalize().ok();
    let is_it = |source: &&Source| real.is_some() && source.path.canonicalize().ok() == real;
    let file = sources.files.iter().find(is_it).and_then(|source| workspace.file(&source.shown));
    let Some(whole) = file.and_then(|file| workspace.whole_text(file)) else {
        tell(&format!("{name} can't be put together: `walkaround inspect` says why"));
        return Status::NotUnderstood;
    };
    let turned = match arguments.to {
        Some(Form::Json) => to_json(whole.as_bytes()).ok(),
        _ => tidy(whole.as_bytes()).ok().and_then(|laid| String::from_utf8(laid).ok()),
    };
    let Some(text) = turned else {
        tell(&format!("{name} is not put together: `walkaround inspect` says what is not understood in it"));
        return Status::NotUnderstood;
    };
    give(arguments, &text)
}

/// The form of a file: by its name, and of standard input by how it begins.
fn form_of(path: &Path, bytes: &[u8], stdin: bool) -> Form {
    let text = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes).trim_ascii_start();
    let json = if stdin { text.starts_with(b"{") } else { path.extension().is_some_and(|ending| ending == "json") };
    if json { Form::Json } else { Form::Rig }
}

fn to_json(bytes: &[u8]) -> Result<String, Vec<Problem>> {
    let mut tables = Tables::default();
    parse(bytes, table::vocabulary, &mut tables);
    let text = json::from_rig(bytes, &tables, waivers(bytes, &tables));
    match text.filter(|_| !is_newer(bytes, &tables)) {
        Some(text) => Ok(escaped_json(&text)),
        None => Err(in_order(fleet::read(FileId(0), bytes, &tables).problems)),
    }
}

fn to_rig(bytes: &[u8]) -> Result<String, Vec<Problem>> {
    let turned = json::to_rig(FileId(0), bytes);
    let text = turned.text.as_bytes();
    let mut tables = Tables::default();
    parse(text, table::vocabulary, &mut tables);
    tables.mark_broken(turned.broken());
    let whole = turned.problems.is_empty() && json::from_rig(text, &tables, Vec::new()).is_some();
    if whole && !is_newer(text, &tables) {
        let text = escaped_rig(&turned.text, &tables);
        let laid = tidy(text.as_bytes()).ok().and_then(|laid| String::from_utf8(laid).ok());
        return Ok(laid.unwrap_or(text));
    }
    let mut problems = fleet::read(FileId(0), text, &tables).problems;
    problems.extend(turned.problems);
    for problem in &mut problems {
        problem.place = back(&turned.map, problem.place);
    }
    Err(in_order(problems))
}

fn back(map: &Map, place: Place) -> Place {
    Place::new(place.file, map.place(place.span))
}

fn in_order(mut problems: Vec<Problem>) -> Vec<Problem> {
    problems.sort_by_key(|problem| problem.place);
    problems
}

/// Whether a text is in a version of the language that this program does not know.
fn is_newer(bytes: &[u8], tables: &Tables) -> bool {
    let problems = fleet::read(FileId(0), bytes, tables).problems;
    problems.iter().any(|problem| problem.kind == ProblemKind::Version)
}

/// The comments that are waivers, in text order.
fn waivers(bytes: &[u8], tables: &Tables) -> Vec<(Span, Waive)> {
    let comments = tables.comments.iter().filter(|comment| comment.own_line);
    let read = comments.filter_map(|comment| {
        let text = std::str::from_utf8(comment.span.of(bytes)).ok()?;
        let waiver = Waiver::parse(text, Place::new(FileId(0), comment.span))?;
        let waive = if waiver.flaw.is_some() || waiver.rule.value.is_empty() {
            let words = text.trim_start_matches('#').trim_start();
            Waive::Words(plain(words.strip_prefix("waive").unwrap_or(words).trim()).into_owned())
        } else {
            Waive::Parts {
                rule: plain(&waiver.rule.value).into_owned(),
                because: waiver.reason.map(|reason| reason.value),
                until: waiver.until.map(|until| until.value.to_string()),
            }
        };
        Some((comment.span, waive))
    });
    read.collect()
}

/// JSON with the characters escaped that do harm where they are shown. They can only stand in strings.
fn escaped_json(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        if character.is_ascii() && character != '\u{7f}' || !is_unwelcome(character) {
            out.push(character);
            continue;
        }
        for unit in character.encode_utf16(&mut [0; 2]) {
            out += &format!("\\u{unit:04x}");
        }
    }
    out
}

/// Rig text with the same characters escaped: in strings, in comments, and in words, which become strings.
fn escaped_rig(text: &str, tables: &Tables) -> String {
    if !text.chars().any(|character| character != '\n' && is_unwelcome(character)) {
        return text.to_owned();
    }
    let tokens = tables.tokens.iter().filter(|token| matches!(token.kind, Kind::Word | Kind::Text));
    let mut spans: Vec<(Span, bool)> = tokens.map(|token| (token.span(), token.kind == Kind::Word)).collect();
    spans.extend(tables.comments.iter().map(|comment| (comment.span, false)));
    spans.sort_unstable();
    let (mut out, mut at) = (String::with_capacity(text.len()), 0);
    for (span, word) in spans {
        let part = text.get(span.range()).unwrap_or_default();
        out += text.get(at..span.range().start).unwrap_or_default();
        let shown = plain(part);
        out += &if word && shown != part { format!("\"{shown}\"") } else { shown.into_owned() };
        at = span.range().end;
    }
    out + text.get(at..).unwrap_or_default()
}

fn save(path: &Path, text: &[u8], overwrite: bool) -> Status {
    match new_file::save(path, overwrite, |file| file.write_all(text)) {
        Ok(()) => Status::Clean,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {
            wrong_usage(&format!("{} is there already; --overwrite writes over it", path.display()))
        }
        Err(error) => {
            tell(&format!("{} can't be written: {error}", path.display()));
            Status::NotUnderstood
        }
    }
}
