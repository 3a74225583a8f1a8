//! `walkaround pairings`: which model connects to which aircraft.

use super::output::{self, Form, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings};
use crate::inspect::Workspace;
use crate::report::json::{to_writer, witness_value};
use crate::report::plain::plain;
use crate::report::witness::in_words;
use crate::rules::matrix::{Cell, Connects, Matrix};
use serde_json::{Value, json};
use std::io::{self, Write};
use std::path::PathBuf;

/// Shows which model connects to which aircraft, what decides it, and what a wrong connection would do
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders with the settings; `-` is standard input
    #[arg(default_value = ".")]
    paths: Vec<PathBuf>,
    /// How the matrix is written
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
}

/// A table with more aircraft than this reads badly; each model then has its list alone.
const MOST_COLUMNS: usize = 8;

/// The longest name that heads a column.
const LONGEST_HEAD: usize = 14;

pub(super) fn run(arguments: &Arguments) -> Status {
    let wanted = Wanted { paths: &arguments.paths, name: "standard input" };
    let (sources, settings) = match Sources::choose(&wanted) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    let mut workspace = Workspace::new();
    workspace.settings(settings::options(&settings));
    sources.load(&mut workspace);
    let faults = workspace.faults();
    let context = workspace.context();
    let matrix = Matrix::new(&context);
    let models = &context.fleet.models;
    let status = if faults == 0 { Status::Clean } else { Status::NotUnderstood };
    if faults > 0 {
        output::tell(&format!(
            "{faults} {} in the description, so this may not be all: `walkaround inspect` shows where",
            if faults == 1 { "fault" } else { "faults" }
        ));
    }
    output::write(status, |out| match arguments.form {
        Form::Json => {
            let rows = models
                .iter()
                .flat_map(|model| matrix.row(model).into_iter().map(move |cell| value(&model.head.name.value, &cell)));
            to_writer(&json!({"version": 1, "pairings": rows.collect::<Vec<Value>>()}), out)
        }
        Form::Text => {
            if models.is_empty() || context.fleet.crafts.is_empty() {
                return writeln!(out, "There is no model, or no aircraft, to pair.");
            }
            let crafts: Vec<&str> = context.fleet.crafts.iter().map(|craft| craft.head.name.value.as_str()).collect();
            let rows: Vec<(&str, Vec<Cell<'_>>)> =
                models.iter().map(|model| (model.head.name.value.as_str(), matrix.row(model))).collect();
            if crafts.len() <= MOST_COLUMNS {
                table(&crafts, &rows, out)?;
            }
            rows.iter().try_for_each(|(model, cells)| list(model, cells, out))?;
            writeln!(
                out,
                "\nThis is what the descriptions say. Power one aircraft at a time, propellers off, to see what answers."
            )
        }
    })
}

/// The matrix: a model a row, an aircraft a column; brackets stand around a pair that the model lists.
fn table(crafts: &[&str], rows: &[(&str, Vec<Cell<'_>>)], out: &mut dyn Write) -> io::Result<()> {
    let cut = |name: &str, most: usize| -> String {
        let name = plain(name);
        if name.chars().count() <= most {
            name.into_owned()
        } else {
            name.chars().take(most - 1).chain(['…']).collect()
        }
    };
    let first = rows.iter().map(|(model, _)| plain(model).chars().count()).max().unwrap_or(0).clamp(8, 28);
    let heads: String = crafts.iter().map(|craft| format!("  {:<LONGEST_HEAD$}", cut(craft, LONGEST_HEAD))).collect();
    writeln!(out, "{:first$}{}", "", heads.trim_end())?;
    for (model, cells) in rows {
        let mut line = format!("{:first$}", cut(model, first));
        for cell in cells {
            let word = match cell.connects {
                Connects::Yes => "connects",
                Connects::Depends => "depends",
                Connects::No if cell.listed => "does not",
                Connects::No => "-",
            };
            let word = if cell.listed { format!("[{word}]") } else { format!(" {word}") };
            line += &format!(" {word:<width$} ", width = LONGEST_HEAD);
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    writeln!(out, "\n[ ] the model lists this aircraft.   -  does not connect, and is not meant to.")
}

/// What decides, for one model: first the aircraft that it lists, then the others that may answer, then the rest by
/// reason.
fn list(model: &str, cells: &[Cell<'_>], out: &mut dyn Write) -> io::Result<()> {
    writeln!(out, "\n{}", plain(model))?;
    let name = |cell: &Cell<'_>| plain(&cell.craft.head.name.value).into_owned();
    for cell in cells.iter().filter(|cell| cell.listed) {
        let word = match cell.connects {
            Connects::Yes => "connects to",
            Connects::Depends => "may connect to",
            Connects::No => "DOES NOT connect to",
        };
        writeln!(out, "  {word} {}, which it lists: {}", name(cell), plain(&cell.decides))?;
    }
    for cell in cells.iter().filter(|cell| !cell.listed && cell.connects != Connects::No) {
        let word = if cell.connects == Connects::Yes { "CONNECTS" } else { "MAY CONNECT" };
        writeln!(out, "  {word} to {}, which it does not list: {}", name(cell), plain(&cell.decides))?;
        if let Some((words, witness)) = &cell.would {
            writeln!(out, "      under this model {}", plain(words))?;
            if let Some(witness) = witness {
                writeln!(out, "      propellers off: {}", plain(&in_words(witness, &[])))?;
            }
        }
    }
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for cell in cells.iter().filter(|cell| !cell.listed && cell.connects == Connects::No) {
        match reasons.iter_mut().find(|(reason, _)| *reason == cell.decides) {
            Some((_, names)) => names.push(name(cell)),
            None => reasons.push((&cell.decides, vec![name(cell)])),
        }
    }
    for (reason, names) in reasons {
        const SHOWN: usize = 6;
        // One more name is no longer than saying so.
        let shown = if names.len() == SHOWN + 1 { names.len() } else { SHOWN };
        let more = names.len().saturating_sub(shown);
        let shown = names.iter().take(shown).cloned().collect::<Vec<_>>().join(", ");
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        writeln!(out, "  does not connect to {shown}{more}: {}", plain(reason))?;
    }
    Ok(())
}

fn value(model: &str, cell: &Cell<'_>) -> Value {
    let connects = match cell.connects {
        Connects::Yes => "connects",
        Connects::Depends => "depends",
        Connects::No => "does not",
    };
    json!({
        "model": model,
        "craft": cell.craft.head.name.value.as_str(),
        "listed": cell.listed,
        "pairing": connects,
        "decides": cell.decides,
        "would": cell.would.as_ref().map(|(words, _)| words),
        "witness": cell.would.as_ref().and_then(|(_, witness)| witness.as_ref()).map(witness_value),
    })
}
