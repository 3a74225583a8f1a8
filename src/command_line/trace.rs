//! `walkaround trace`: what the flight controller receives.

mod ask;
mod surfaces;

use super::output::{self, Colour, Form, wrong_usage};
use super::sources::{Sources, Wanted};
use super::{Status, settings};
use crate::asking::path;
use crate::findings::Severity;
use crate::findings::caution::{Caution, before_the_bench};
use crate::fleet::Fleet;
use crate::fleet::model::Model;
use crate::inspect::Workspace;
use crate::mend::tidy;
use crate::report::json::{round, state_value, to_writer};
use crate::report::paint::Paint;
use crate::report::plain::plain;
use crate::report::traced::{condition as what, movers, share, span};
use crate::report::witness::way;
use crate::setup::trace::{Pulses, Reading, Traced, TracedMix, mixes, reading, trace};
use crate::setup::{ModelSetup, Setup, Signals};
use crate::signal::{Path, Why};
use serde_json::{Value, json};
use std::fmt::Write as _;
use std::io::{self, Write};
use std::path::PathBuf;

/// Shows what the flight controller receives from a model: per channel who moves it, the pulses, what the link makes of
/// them, and the modes that come on
#[derive(clap::Args)]
pub(super) struct Arguments {
    /// The model's name
    model: String,
    /// The aircraft, where the model flies several (default: the first that it lists)
    #[arg(long, value_name = "AIRCRAFT")]
    craft: Option<String>,
    /// Where the settings are
    #[arg(long = "in", value_name = "PATH", default_value = ".")]
    place: PathBuf,
    #[command(flatten)]
    settings: settings::Choice,
    /// Put a control somewhere at the start: `left-front=down`, `throttle=-100`, `"roll trim"=4`
    #[arg(long, value_name = "CONTROL=VALUE", allow_hyphen_values = true)]
    set: Vec<String>,
    /// Move a control afterwards, one movement each, in this order; `left-front=down, throttle=20` moves both at once, and
    /// `wait 2 s` moves nothing while time passes, so that what is `held` counts
    #[arg(long, value_name = "CONTROL=VALUE", allow_hyphen_values = true)]
    then: Vec<String>,
    /// Ask whether a state with this condition can be reached: `mode arm and throttle above 0 %`
    #[arg(long, value_name = "CONDITION", conflicts_with_all = ["set", "then"])]
    ask: Option<String>,
    /// Print the whole block, with all that it has of the one that it is `like`: of the model, or of a craft, a handset, a link or
    /// a place with this name (`--spelled-out=craft`)
    #[arg(long, value_enum, value_name = "KIND", num_args = 0..=1, require_equals = true, default_missing_value = "model")]
    #[arg(conflicts_with_all = ["craft", "set", "then", "ask"])]
    spelled_out: Option<Kind>,
    /// How the answer is written
    #[arg(long = "as", value_enum, default_value = "text")]
    form: Form,
}

/// A kind of blocks.
#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    Model,
    Craft,
    Handset,
    Link,
    Place,
}

impl Kind {
    /// As the fleet numbers it.
    const fn number(self) -> u8 {
        match self {
            Self::Model => Fleet::MODEL,
            Self::Craft => Fleet::CRAFT,
            Self::Handset => Fleet::HANDSET,
            Self::Link => Fleet::LINK,
            Self::Place => Fleet::SITE,
        }
    }
}

pub(super) fn run(arguments: &Arguments, colour: Colour) -> Status {
    let paths = [arguments.place.clone()];
    let (sources, settings) =
        match Sources::choose(&Wanted { paths: &paths, name: "", around: true, settings: &arguments.settings }) {
            Ok(chosen) => chosen,
            Err(message) => return wrong_usage(&message),
        };
    let mut workspace = Workspace::with(settings::options(&settings));
    sources.load(&mut workspace);
    if let Some(kind) = arguments.spelled_out {
        return spelled_out(&workspace, kind.number(), &arguments.model);
    }
    let context = workspace.context();
    let Some(model) = context.fleet.model(&arguments.model) else {
        return wrong_usage(&no_model(&workspace, &sources, &arguments.model));
    };
    let view = ModelSetup::new(&context, model);
    let pair =
        view.setups.iter().find(|pair| arguments.craft.as_ref().is_none_or(|name| *name == pair.craft.head.name.value));
    let Some(pair) = pair else {
        return wrong_usage(&no_craft(model, arguments.craft.as_deref()));
    };
    let Some(signals) = pair.signals() else {
        let why = pair.refused().map_or_else(String::new, |refused| format!(": {}", refused.reason));
        output::tell(&format!("the signal path can't be put together{why}"));
        return Status::NotUnderstood;
    };
    if let Some(condition) = &arguments.ask {
        return ask::ask(arguments, pair, signals, condition);
    }
    if arguments.set.is_empty() && arguments.then.is_empty() {
        return match trace(pair) {
            Some(table) => table_out(arguments, pair, signals, &table, Paint(colour.is_on())),
            None => Status::NotUnderstood,
        };
    }
    match path(signals, &arguments.set, &arguments.then) {
        Ok(path) => state_out(arguments, pair, signals, &path),
        Err(message) => wrong_usage(&message),
    }
}

/// Prints a block whole.
fn spelled_out(workspace: &Workspace, kind: u8, name: &str) -> Status {
    let word = Fleet::word(kind);
    let Some(head) = workspace.fleet().head(kind, name) else {
        return wrong_usage(&format!("no {word} is called \"{name}\" there"));
    };
    let text = workspace.spelled_out(kind, name).filter(|_| head.like.is_none());
    let laid = text.and_then(|text| tidy(format!("rig 1\n{text}\n").as_bytes()).ok());
    let Some(laid) = laid.and_then(|laid| String::from_utf8(laid).ok()) else {
        output::tell(&format!("{word} \"{name}\" can't be put together: `walkaround inspect` says why"));
        return Status::NotUnderstood;
    };
    output::write(Status::Clean, |out| {
        laid.lines().skip(1).skip_while(|line| line.is_empty()).try_for_each(|line| writeln!(out, "{}", plain(line)))
    })
}

/// Why there is no model of a name, with what there is.
fn no_model(workspace: &Workspace, sources: &Sources, name: &str) -> String {
    let fleet = workspace.fleet();
    if fleet.models.is_empty() {
        let faults = workspace.told_outside();
        let why: Vec<String> = faults.into_iter().chain(sources.left.iter().cloned()).collect();
        return match why.is_empty() {
            true => "no model was found there".to_owned(),
            false => format!("no model was found: {}", why.join("; ")),
        };
    }
    let models = fleet.models.iter();
    let flying: Vec<String> = models
        .clone()
        .filter(|model| model.flies.iter().any(|craft| craft.value == name))
        .map(|model| format!("\"{}\"", model.head.name.value))
        .collect();
    if !flying.is_empty() {
        return format!("no model is called \"{name}\"; the aircraft \"{name}\" is flown by {}", flying.join(", "));
    }
    output::no_such("model", name, models.map(|model| model.head.name.value.as_str()))
}

/// Why a model has no such aircraft.
fn no_craft(model: &Model, name: Option<&str>) -> String {
    let model_name = &model.head.name.value;
    let names: Vec<String> = model.flies.iter().map(|name| format!("\"{}\"", name.value)).collect();
    match name {
        _ if model.simulator.is_some() => {
            format!("\"{model_name}\" is for a simulator and flies no aircraft, so there is nothing to trace")
        }
        Some(name) if !names.is_empty() => {
            format!("\"{model_name}\" does not fly \"{name}\"; it flies {}", names.join(", "))
        }
        _ => format!("\"{model_name}\" flies no aircraft that is described: add `flies` with the name of one to it"),
    }
}

/// Writes an answer, for people or for programs.
fn show(arguments: &Arguments, to: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> Status {
    match arguments.form {
        Form::Json => output::write(Status::Clean, to),
        Form::Text => output::show(Status::Clean, to),
    }
}

fn state_out(arguments: &Arguments, pair: &Setup<'_>, signals: &Signals, path: &Path) -> Status {
    let read = reading(pair, signals, path);
    let witness = signals.witness(path);
    show(arguments, |out| {
        if arguments.form == Form::Json {
            return to_writer(&state_value(pair, &read, &witness), out);
        }
        let Reading { channels, mixes, modes, .. } = &read;
        writeln!(out, "{}", plain(&way(&witness)))?;
        for (channel, label, percent, sent, received) in channels {
            let arrives = received.map_or_else(|| "not carried".to_owned(), |pulse| format!("{pulse:.1} us"));
            writeln!(
                out,
                "  channel {channel:>2}  {:<14} {percent:>7.1} %  sent {sent:>6.1} us  received {arrives}",
                plain(label)
            )?;
        }
        for (name, value) in mixes {
            let value = value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.1} %"));
            writeln!(out, "  mix {:<22} {value:>9}", plain(name))?;
        }
        let on: Vec<&str> = modes.iter().filter(|(_, on)| *on == Some(true)).map(|(name, _)| name.as_str()).collect();
        writeln!(
            out,
            "  modes on: {}",
            if on.is_empty() { "none".to_owned() } else { plain(&on.join(", ")).into_owned() }
        )
    })
}

fn table_out(arguments: &Arguments, pair: &Setup<'_>, signals: &Signals, table: &[Traced], paint: Paint) -> Status {
    let terminal = std::io::IsTerminal::is_terminal(&std::io::stdout());
    show(arguments, |out| {
        if arguments.form == Form::Json {
            let channels: Vec<Value> = table.iter().map(channel_value).collect();
            let mixes: Vec<Value> = mixes(pair).iter().map(mix_value).collect();
            let value = json!({"model": pair.model.head.name.value.as_str(), "craft": pair.craft.head.name.value.as_str(), "channels": channels, "mixes": mixes, "surfaces": surfaces::value(pair, signals, table)});
            return to_writer(&value, out);
        }
        let (model, craft) = (&pair.model.head.name.value, &pair.craft.head.name.value);
        writeln!(out, "{} flies {}", plain(model), plain(craft))?;
        for other in pair.model.flies.iter().filter(|name| name.value != *craft) {
            writeln!(out, "It also flies {0}: see it with --craft \"{0}\".", plain(&other.value))?;
        }
        for channel in table {
            let movers = movers(&channel.moved_by);
            let lost = match channel.carried {
                true => String::new(),
                false => format!("  {}", paint.severity(Severity::Caution, "NOT CARRIED by the link")),
            };
            let head = paint.head(&format!("channel {:<3}{:<14}", channel.channel, plain(&channel.label)));
            writeln!(out, "\n{head} {}{lost}", plain(&movers))?;
            for row in &channel.rows {
                let mut line = String::new();
                let modes =
                    if row.modes.is_empty() { String::new() } else { format!("  mode {}", row.modes.join(", ")) };
                let _ = write!(
                    line,
                    "  {:<34} sent {:<16} received {:<16}{modes}",
                    row.when,
                    span(row.sent),
                    row.received.map_or_else(|| "nothing".to_owned(), span)
                );
                if terminal && let Some((low, high)) = row.received.and_then(Pulses::range) {
                    let _ = write!(line, "  {}", bar(low, high));
                }
                writeln!(out, "{}", plain(line.trim_end()))?;
            }
        }
        for mix in mixes(pair) {
            writeln!(out, "\nmix {:<21} {}", plain(&mix.name), plain(&movers(&mix.moved_by)))?;
            for (when, value) in &mix.rows {
                let line = format!("  {when:<34} {}", share(*value));
                writeln!(out, "{}", plain(line.trim_end()))?;
            }
        }
        surfaces::write(pair, signals, table, out)?;
        named_conditions(pair.model, table, out)?;
        left_open(table, out)?;
        writeln!(out, "\nPulses in microseconds. {}", before_the_bench([Caution::of(pair.craft)]))
    })
}

/// What was not decided, with its reasons.
fn left_open(table: &[Traced], out: &mut dyn Write) -> io::Result<()> {
    let mut reasons: Vec<(Why, Vec<u8>)> = Vec::new();
    for (channel, row) in table.iter().flat_map(|traced| traced.rows.iter().map(|row| (traced.channel, row))) {
        for pulses in [Some(row.sent), row.received].into_iter().flatten() {
            let Pulses::Open(why) = pulses else { continue };
            match reasons.iter_mut().find(|(known, _)| *known == why) {
                Some((_, channels)) if channels.contains(&channel) => {}
                Some((_, channels)) => channels.push(channel),
                None => reasons.push((why, vec![channel])),
            }
        }
    }
    for (why, channels) in reasons {
        let channels: Vec<String> = channels.iter().map(u8::to_string).collect();
        let word = if channels.len() == 1 { "channel" } else { "channels" };
        writeln!(out, "\nNot decided of {word} {}: {}.", channels.join(", "), plain(&why.to_string()))?;
    }
    Ok(())
}

/// What the conditions are that the rows name, and those that these name.
fn named_conditions(model: &Model, table: &[Traced], out: &mut dyn Write) -> io::Result<()> {
    let names = |text: &str, name: &str| {
        text.split(|letter: char| letter.is_whitespace() || matches!(letter, '(' | ')')).any(|word| word == name)
    };
    let mut texts: Vec<String> = table.iter().flat_map(|channel| &channel.rows).map(|row| row.when.clone()).collect();
    let mut told = vec![false; model.conditions.len()];
    while let Some(at) = (0..told.len()).find(|&at| {
        let name = model.conditions.get(at).map_or("", |known| known.name.value.as_str());
        !told.get(at).is_none_or(|told| *told) && texts.iter().any(|text| names(text, name))
    }) {
        if let (Some(told), Some(condition)) = (told.get_mut(at), model.conditions.get(at)) {
            *told = true;
            texts.push(what(condition));
        }
    }
    if told.contains(&true) {
        writeln!(out)?;
    }
    for (condition, _) in model.conditions.iter().zip(told).filter(|(_, told)| *told) {
        writeln!(out, "{}: {}", plain(&condition.name.value), plain(&what(condition)))?;
    }
    Ok(())
}

fn mix_value(mix: &TracedMix) -> Value {
    let pair = |value: Pulses| value.range().map(|(low, high)| json!([round(low), round(high)]));
    let rows: Vec<Value> =
        mix.rows.iter().map(|(when, value)| json!({"when": when, "percent": pair(*value)})).collect();
    json!({"mix": mix.name, "moved_by": mix.moved_by.as_ref().ok(), "rows": rows})
}

/// Where a range lies between 900 and 2140 us.
fn bar(low: f64, high: f64) -> String {
    let cell = |pulse: f64| (((pulse - 900.0) / 1200.0 * 24.0).round().clamp(0.0, 24.0)) as usize;
    let (from, to) = (cell(low), cell(high));
    (0..=24).map(|at| if (from..=to).contains(&at) { '#' } else { '.' }).collect()
}

fn channel_value(channel: &Traced) -> Value {
    let rows: Vec<Value> = channel
        .rows
        .iter()
        .map(|row| {
            let pair = |pulses: Pulses| pulses.range().map(|(low, high)| json!([round(low), round(high)]));
            let why = [Some(row.sent), row.received].into_iter().flatten().find_map(|pulses| match pulses {
                Pulses::Open(why) => Some(why.to_string()),
                _ => None,
            });
            let occurs = match row.sent {
                Pulses::Between(..) => Some(true),
                Pulses::Never => Some(false),
                Pulses::Open(_) => None,
            };
            json!({
                "when": row.when,
                "occurs": occurs,
                "pulse_us": pair(row.sent),
                "carried_us": row.received.map(pair),
                "modes": row.modes,
                "why": why,
            })
        })
        .collect();
    json!({"channel": channel.channel, "label": channel.label, "moved_by": channel.moved_by.as_ref().ok(), "carried": channel.carried, "rows": rows})
}
