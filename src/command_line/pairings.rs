//! `walkaround pairings`: which model connects to which aircraft.

use super::output::{self, Colour, Form, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings};
use crate::findings::caution::{Caution, before_the_bench};
use crate::findings::{Severity, Witness};
use crate::fleet::craft::Craft;
use crate::fleet::equipment::Head;
use crate::fleet::model::Model;
use crate::inspect::Workspace;
use crate::report::json::witness_value;
use crate::report::paint::Paint;
use crate::report::plain::plain;
use crate::report::witness::in_words;
use crate::rules::matrix::{Cell, Connects, Matrix};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::io::{self, Write};
use std::path::PathBuf;
use std::sync::Arc;

/// Shows where a model and an aircraft connect that are not meant to, where they don't and should, and where it depends: what
/// decides it, and what a wrong connection would do
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// Files and folders with the settings; `-` is standard input
    #[arg(default_value = ".", value_name = "PATH")]
    paths: Vec<PathBuf>,
    /// Show every pair, also those that are as the models say, with a grid
    #[arg(long)]
    all: bool,
    /// Show only these models
    #[arg(long, value_name = "MODEL", value_delimiter = ',')]
    model: Vec<String>,
    /// Show only these aircraft
    #[arg(long, value_name = "AIRCRAFT", value_delimiter = ',')]
    aircraft: Vec<String>,
    /// How the pairs are written
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
    #[command(flatten)]
    settings: settings::Choice,
}

/// The columns of a grid before it goes on below.
const MOST_COLUMNS: usize = 6;

/// The longest name that heads a column.
const LONGEST_HEAD: usize = 14;

/// So many aircraft are named of those for which the same holds; the others are counted.
const SHOWN: usize = 6;

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    let stdin = arguments.paths.iter().any(|path| path.as_os_str() == "-");
    let wanted =
        Wanted { paths: &arguments.paths, name: "standard input", around: !stdin, settings: &arguments.settings };
    let (sources, settings) = match Sources::choose(&wanted) {
        Ok(chosen) => chosen,
        Err(message) => return wrong_usage(&message),
    };
    let mut workspace = Workspace::with(settings::options(&settings));
    sources.load(&mut workspace);
    let faults = workspace.faults();
    let context = workspace.context();
    let fleet = context.fleet;
    let models = match chosen("model", &arguments.model, fleet.models.iter().map(|model| (&model.head, model))) {
        Ok(models) => models,
        Err(message) => return wrong_usage(&message),
    };
    let crafts = match chosen("aircraft", &arguments.aircraft, fleet.crafts.iter().map(|craft| (&craft.head, craft))) {
        Ok(crafts) => crafts,
        Err(message) => return wrong_usage(&message),
    };
    let matrix = Matrix::new(&context);
    let status = if faults == 0 { Status::Clean } else { Status::NotUnderstood };
    if faults > 0 {
        output::tell(&format!(
            "{faults} {} in the description, so this may not be all: `walkaround inspect` shows where",
            if faults == 1 { "fault" } else { "faults" }
        ));
    }
    let pairs = Pairs { matrix, models, crafts, all: arguments.all, paint: Paint(colour.is_on()) };
    match arguments.form {
        Form::Json => output::write(status, |out| pairs.json(out)),
        Form::Text => output::show(status, |out| pairs.text(out)),
    }
}

/// Those of a list that were asked for by name, or all of it.
///
/// # Errors
/// A name that is not there, with those that are.
fn chosen<'f, T>(
    what: &str,
    wanted: &[String],
    all: impl Iterator<Item = (&'f Head, &'f T)>,
) -> Result<Vec<&'f T>, String> {
    let all: Vec<(&str, &T)> = all.map(|(head, one)| (head.name.value.as_str(), one)).collect();
    let known: BTreeSet<&str> = all.iter().map(|(name, _)| *name).collect();
    if let Some(unknown) = wanted.iter().find(|name| !known.contains(name.as_str())) {
        return Err(output::no_such(what, unknown, known.into_iter()));
    }
    let asked = |name: &str| wanted.is_empty() || wanted.iter().any(|one| one == name);
    Ok(all.into_iter().filter(|(name, _)| asked(name)).map(|(_, one)| one).collect())
}

/// The pairs that are to be shown.
struct Pairs<'f> {
    matrix: Matrix<'f>,
    models: Vec<&'f Model>,
    crafts: Vec<&'f Craft>,
    /// Also those that are as the models say.
    all: bool,
    paint: Paint,
}

impl<'f> Pairs<'f> {
    fn row(&self, model: &'f Model) -> impl Iterator<Item = Cell<'f>> + '_ {
        self.matrix.row(model, self.crafts.iter().copied())
    }

    /// Writes pair by pair, so that a large fleet needs no more memory than a small one.
    fn json(&self, out: &mut dyn Write) -> io::Result<()> {
        write!(out, "{{\n  \"version\": 1,\n  \"pairings\": [")?;
        let mut comma = "";
        for model in &self.models {
            for cell in self.row(model).filter(|cell| self.all || cell.surprises()) {
                write!(out, "{comma}\n    {}", value(&cell, self.matrix.would(&cell)))?;
                comma = ",";
            }
        }
        writeln!(out, "\n  ]\n}}")
    }

    fn text(&self, out: &mut dyn Write) -> io::Result<()> {
        if self.models.is_empty() || self.crafts.is_empty() {
            return writeln!(out, "There is no model, or no aircraft, to pair.");
        }
        if self.all {
            self.crafts.chunks(MOST_COLUMNS).try_for_each(|crafts| self.grid(crafts, out))?;
            writeln!(out, "[ ] the model lists this aircraft.   -  does not connect, and is not meant to.\n")?;
        }
        let (mut expected, mut told) = (0, 0);
        for model in &self.models {
            let mut list = List::default();
            for cell in self.row(model) {
                if self.all || cell.surprises() {
                    told += 1;
                    list.add(cell);
                } else {
                    expected += 1;
                }
            }
            list.write(&model.head.name.value, self, out)?;
        }
        match (told, expected) {
            (0, 1) => writeln!(out, "The one pair of model and aircraft is as its model says.")?,
            (0, _) => writeln!(out, "All {expected} pairs of model and aircraft are as their models say.")?,
            (_, 0) => {}
            (_, 1) => writeln!(out, "1 other pair is as its model says.")?,
            _ => writeln!(out, "{expected} other pairs are as their models say.")?,
        }
        if expected > 0 {
            writeln!(out, "`walkaround pairings --all` shows them too, and what decides each.")?;
        }
        writeln!(
            out,
            "This is what the descriptions say. Power one aircraft at a time to see what answers. {}",
            before_the_bench(self.crafts.iter().copied().map(Caution::of))
        )
    }

    /// A model a row, an aircraft a column; brackets stand around a pair that the model lists.
    fn grid(&self, crafts: &[&'f Craft], out: &mut dyn Write) -> io::Result<()> {
        let cut = |name: &str, most: usize| -> String {
            let name = plain(name);
            if name.chars().count() <= most {
                name.into_owned()
            } else {
                name.chars().take(most - 1).chain(['…']).collect()
            }
        };
        let names = self.models.iter().map(|model| plain(&model.head.name.value).chars().count());
        let first = names.max().unwrap_or(0).clamp(8, 28);
        let heads =
            crafts.iter().map(|craft| format!("  {:<LONGEST_HEAD$}", cut(&craft.head.name.value, LONGEST_HEAD)));
        writeln!(out, "{:first$}{}", "", heads.collect::<String>().trim_end())?;
        for model in &self.models {
            let mut line = format!("{:first$}", cut(&model.head.name.value, first));
            for cell in self.matrix.row(model, crafts.iter().copied()) {
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
        writeln!(out)
    }
}

/// What there is to say of one model: the aircraft for which the same holds stand together.
#[derive(Default)]
struct List<'f> {
    groups: Vec<Group<'f>>,
}

/// Aircraft with which a model pairs alike.
struct Group<'f> {
    listed: bool,
    connects: Connects,
    decides: Arc<str>,
    /// The first few.
    cells: Vec<Cell<'f>>,
    more: usize,
}

impl<'f> List<'f> {
    fn add(&mut self, cell: Cell<'f>) {
        let alike = |group: &&mut Group<'_>| {
            (group.listed, group.connects, &group.decides) == (cell.listed, cell.connects, &cell.decides)
        };
        match self.groups.iter_mut().find(alike) {
            Some(group) if group.cells.len() < SHOWN => group.cells.push(cell),
            Some(group) => group.more += 1,
            None => {
                let (listed, connects, decides) = (cell.listed, cell.connects, cell.decides.clone());
                self.groups.push(Group { listed, connects, decides, cells: vec![cell], more: 0 });
            }
        }
    }

    /// First the aircraft that the model lists, then the others that may answer, then the rest by reason.
    fn write(mut self, model: &str, pairs: &Pairs<'f>, out: &mut dyn Write) -> io::Result<()> {
        if self.groups.is_empty() {
            return Ok(());
        }
        self.groups.sort_by_key(|group| (!group.listed, group.connects));
        writeln!(out, "{}", pairs.paint.head(&plain(model)))?;
        for group in &self.groups {
            let word = match (group.listed, group.connects) {
                (true, Connects::Yes) => "connects to",
                (true, Connects::Depends) => "may connect to",
                (true, Connects::No) => "DOES NOT connect to",
                (false, Connects::Yes) => "CONNECTS to",
                (false, Connects::Depends) => "MAY CONNECT to",
                (false, Connects::No) => "does not connect to",
            };
            let word = match group.connects {
                Connects::No if group.listed => pairs.paint.severity(Severity::Caution, word),
                Connects::Yes | Connects::Depends if !group.listed => pairs.paint.severity(Severity::Danger, word),
                _ => word.to_owned(),
            };
            let which = match (group.listed, group.connects) {
                (true, _) => ", which it lists",
                (false, Connects::No) => "",
                (false, _) => ", which it does not list",
            };
            let names: Vec<_> = group.cells.iter().map(|cell| plain(&cell.craft.head.name.value)).collect();
            let more = if group.more > 0 { format!(" and {} more", group.more) } else { String::new() };
            writeln!(out, "  {word} {}{more}{which}: {}", names.join(", "), plain(&group.decides))?;
            let mut said: Vec<(String, Option<Witness>)> = Vec::new();
            for cell in &group.cells {
                let Some(would) = pairs.matrix.would(cell).filter(|would| !said.contains(would)) else { continue };
                let (words, witness) = &would;
                let name =
                    if names.len() > 1 { format!("{} ", plain(&cell.craft.head.name.value)) } else { String::new() };
                writeln!(out, "      {name}under this model: {}", plain(words))?;
                if let Some(witness) = witness {
                    let off = Caution::of(cell.craft).inside();
                    writeln!(out, "      {off}: {}", plain(&in_words(witness, &[])))?;
                }
                said.push(would);
            }
        }
        writeln!(out)
    }
}

fn value(cell: &Cell<'_>, would: Option<(String, Option<Witness>)>) -> Value {
    let connects = match cell.connects {
        Connects::Yes => "connects",
        Connects::Depends => "depends",
        Connects::No => "does not",
    };
    json!({
        "model": cell.model.head.name.value.as_str(),
        "craft": cell.craft.head.name.value.as_str(),
        "listed": cell.listed,
        "pairing": connects,
        "decides": &*cell.decides,
        "would": would.as_ref().map(|(words, _)| words),
        "witness": would.as_ref().and_then(|(_, witness)| witness.as_ref()).map(witness_value),
    })
}
